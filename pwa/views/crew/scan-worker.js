// Reads QR codes from camera frames, beside the page so that it stays quick. Answers with the text or null.

import { prepareZXingModule, readBarcodes } from '../../vendor/zxing-reader.js';

prepareZXingModule({
  overrides: {
    // Without this the decoder would ask a stranger's server for its other half.
    locateFile: (/** @type {string} */ name) => new URL(`../../vendor/${name}`, import.meta.url).href,
  },
  fireImmediately: true,
});

self.onmessage = async ({ data }) => {
  const [hit] = await readBarcodes(data, { formats: ['QRCode'], maxNumberOfSymbols: 1 });
  self.postMessage(hit?.isValid ? hit.text : null);
};
