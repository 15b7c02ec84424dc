// How many of a folder of frames the page's own reader reads: as they are, as still pictures (each frame by itself, with the
// labels' address known and without), and as a film of each burst.
// node tests/bench/hard_frames.mjs FOLDER [--table]

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { prepareZXingModule, readBarcodes } from '../../pwa/vendor/zxing-reader.js';
import { DamagedLabels } from '../../pwa/views/scanning/scan_worker_damaged.js';
import { grey } from '../../pwa/views/scanning/scan_worker_pictures.js';
import { Reading } from '../../pwa/views/scanning/scan_worker_reading.js';

/** Whose labels the frames show, and somebody else. */
const [OWN, OTHER] = ['https://walk.example.org', 'https://elsewhere.example'];
/** Kinds of frames without a label of ours. */
const NO_LABEL = ['no label', 'not ours'];
/** Looks at a film: a burst is shown over and over, as a hand that holds still shows it. */
const LOOKS_MOST = 18;

const folder = process.argv[2];
const { width, height, frames } = JSON.parse(readFileSync(join(folder, 'frames.json'), 'utf8'));
const wasm = new URL('../../pwa/vendor/zxing_reader.wasm', import.meta.url);
await prepareZXingModule({ overrides: { wasmBinary: readFileSync(wasm) }, fireImmediately: true });

const textsIn = async (picture) => {
  const hits = await readBarcodes(picture, { formats: ['QRCode'], maxNumberOfSymbols: 4 });
  return hits.filter(({ isValid }) => isValid).map(({ text }) => text);
};

const pictureOf = (file) => {
  const lights = readFileSync(join(folder, file));
  const data = new Uint8ClampedArray(4 * lights.length).fill(255);
  for (let at = 0; at < lights.length; at += 1) data.fill(lights[at], 4 * at, 4 * at + 3);
  return { data, width, height };
};

const told = {};
const rowOf = (kind) =>
  (told[kind] ??= { frames: 0, plain: 0, still: 0, elsewhere: 0, bursts: 0, burst: 0, wrong: 0, ms: 0 });

async function single(picture, text, row) {
  row.frames += 1;
  const plain = await textsIn(picture);
  const start = performance.now();
  const still = plain.length > 0 ? plain : await new Reading(textsIn, OWN).still(picture);
  row.ms = Math.max(row.ms, Math.round(performance.now() - start));
  const damaged = plain.length > 0 ? null : new DamagedLabels(OTHER).read(grey(picture));
  const elsewhere = damaged ? [damaged] : plain;
  row.plain += plain.includes(text);
  row.still += still.includes(text);
  row.elsewhere += elsewhere.includes(text);
  row.wrong += new Set([...plain, ...still, ...elsewhere].filter((each) => each !== text)).size;
}

async function film(pictures, text, row) {
  row.bursts += 1;
  const reading = new Reading(textsIn, OWN);
  for (let look = 0; look < LOOKS_MOST; look += 1) {
    const texts = await reading.frame(pictures[look % pictures.length]);
    row.wrong += texts.filter((each) => each !== text).length;
    row.burst += texts.includes(text);
    if (texts.length > 0) return;
  }
}

for (const { file, files, kind, text } of frames) {
  if (files) await film(files.map(pictureOf), text, rowOf(kind));
  else await single(pictureOf(file), text, rowOf(kind));
}

/** By kind of damage, each as 'read of all'; the last line is their sum, without frames in which no label is. */
function table() {
  const line = (...cells) => cells.map((cell, at) => (at ? `${cell}`.padStart(11) : cell.padEnd(18))).join('');
  const cells = (row) => [
    ...['plain', 'still', 'elsewhere'].map((way) => `${row[way]}/${row.frames}`),
    `${row.burst}/${row.bursts}`,
    row.wrong,
    row.ms,
  ];
  const rows = Object.entries(told);
  const ours = rows.filter(([kind]) => !NO_LABEL.includes(kind)).map(([, row]) => row);
  const names = ['frames', 'plain', 'still', 'elsewhere', 'bursts', 'burst', 'wrong'];
  const sum = Object.fromEntries(names.map((name) => [name, ours.reduce((all, row) => all + row[name], 0)]));
  return [
    line('damage', 'as it is', 'still', 'elsewhere', 'as a film', 'wrong', 'most ms'),
    ...rows.map(([kind, row]) => line(kind, ...cells(row))),
    line('all labels', ...cells({ ...sum, ms: Math.max(...ours.map(({ ms }) => ms)) })),
  ].join('\n');
}

process.stdout.write(`${process.argv[3] === '--table' ? table() : JSON.stringify({ told })}\n`);
