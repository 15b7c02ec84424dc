// How many of a folder of frames the page's own reader reads: as they are, as a film's frame, and as a still picture.
// node tests/bench/hard_frames.mjs FOLDER

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { prepareZXingModule, readBarcodes } from '../../pwa/vendor/zxing-reader.js';
import { Reading } from '../../pwa/views/crew/scan_worker_reading.js';

const folder = process.argv[2];
const { width, height, frames } = JSON.parse(readFileSync(join(folder, 'frames.json'), 'utf8'));
const wasm = new URL('../../pwa/vendor/zxing_reader.wasm', import.meta.url);
await prepareZXingModule({ overrides: { wasmBinary: readFileSync(wasm) }, fireImmediately: true });

let looks = 0;
const textsIn = async (picture) => {
  looks += 1;
  const hits = await readBarcodes(picture, { formats: ['QRCode'], maxNumberOfSymbols: 4 });
  return hits.filter(({ isValid }) => isValid).map(({ text }) => text);
};

const told = {};
const ways = {};
for (const { file, kind, text } of frames) {
  const lights = readFileSync(join(folder, file));
  const data = new Uint8ClampedArray(4 * lights.length).fill(255);
  for (let at = 0; at < lights.length; at += 1) data.fill(lights[at], 4 * at, 4 * at + 3);
  const picture = { data, width, height };
  const row = (told[kind] ??= { frames: 0, plain: 0, still: 0, wrong: 0, ms: 0 });
  row.frames += 1;
  const plain = await textsIn(picture);
  const start = performance.now();
  looks = 0;
  const still = plain.length > 0 ? plain : await new Reading(textsIn).still(picture);
  row.ms = Math.max(row.ms, Math.round(performance.now() - start));
  row.plain += plain.includes(text);
  row.still += still.includes(text);
  row.wrong += [...plain, ...still].filter((each) => each !== text).length;
  if (plain.length === 0 && still.length > 0) ways[looks - 2] = (ways[looks - 2] ?? 0) + 1;
}
process.stdout.write(`${JSON.stringify({ told, ways })}\n`);
