// Reads codes from pictures, beside the page so that it stays quick. Answers with the texts in sight, none where there
// are none, or why it failed: half of it is not on this phone, or it does not work in this browser.

import { prepareZXingModule, readBarcodes } from '../../vendor/zxing-reader.js';
import { Reading } from './scan_worker_reading.js';

/** Texts in one picture: more than two labels in view are chosen among as well. */
const TEXTS_MOST = 4;
const prepared = prepareZXingModule({
  overrides: {
    // Without this the decoder would ask a stranger's server for its other half.
    locateFile: (/** @type {string} */ name) => `/app/vendor/${name}`,
  },
  fireImmediately: true,
});
// What did not come is told with the first frame.
prepared?.catch(() => {});

/** @type {import('../../vendor/zxing-reader.js').ReadInputBarcodeFormat[]} */
let formats = ['QRCode'];

/** @param {import('./scan_worker_reading.js').Picture} picture @returns {Promise<string[]>} */
async function textsIn(picture) {
  const hits = await readBarcodes(/** @type {ImageData} */ (picture), {
    formats,
    maxNumberOfSymbols: TEXTS_MOST,
  });
  return [...new Set(hits.filter(({ isValid, text }) => isValid && text).map(({ text }) => text))];
}

/** Labels say the address at which this page is, as a rule. */
const labels = new Reading(textsIn, self.location.origin);
const others = new Reading(textsIn, null);

self.onmessage = async ({ data }) => {
  // Other sorts of codes than our labels' come with the frame; of a still picture every way to read it is tried.
  const { frame = data, still = false } = data;
  formats = data.formats ?? ['QRCode'];
  const reading = data.formats ? others : labels;
  try {
    self.postMessage({ texts: await (still ? reading.still(frame) : reading.frame(frame)) });
  } catch (error) {
    self.postMessage({ texts: [], failed: /compile|link/i.test(String(error)) ? 'broken' : 'not-here' });
  }
};
