// Reads QR codes from camera frames, beside the page so that it stays quick. Answers with the text, null where there is
// none, or that it failed: half of it is not on this phone.

import { prepareZXingModule, readBarcodes } from '../../vendor/zxing-reader.js';

const prepared = prepareZXingModule({
  overrides: {
    // Without this the decoder would ask a stranger's server for its other half.
    locateFile: (/** @type {string} */ name) => `/app/vendor/${name}`,
  },
  fireImmediately: true,
});
// What did not come is told with the first frame.
prepared?.catch(() => {});

self.onmessage = async ({ data }) => {
  // Other sorts of codes than our labels' come with the frame.
  const { frame = data, formats = ['QRCode'] } = data;
  try {
    const [hit] = await readBarcodes(frame, { formats, maxNumberOfSymbols: 1 });
    self.postMessage({ text: hit?.isValid ? hit.text : null });
  } catch {
    self.postMessage({ text: null, failed: true });
  }
};
