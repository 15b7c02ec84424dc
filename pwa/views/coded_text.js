// What rules and the spec write in English inside a text that is kept: names of arrangements, and units; told in the words
// of who reads. What is kept stays as it is.

import { FIRST_LANGUAGE } from '../store/tables.js';
import { store } from '../store/store.js';

/** What a name of an arrangement, or a summary of what to fit, has beside codes and numbers. */
const ARRANGED = /\bat \d+ mA\b|\bfed from the neighbour$/;

/** Whether texts that are kept are read as they were written. */
const asWritten = () => store.language.split('-')[0] === FIRST_LANGUAGE;

/**
 * The name of an arrangement or a summary, as it is read: '2 × TERN-4 in rows 1, 2; HERON-80 at 1400 mA'
 * (rules/arrangements/candidate.py, layout.py, wiring/wiring.py). Any other text stays as it is.
 *
 * @param {string} text
 */
export function arrangementText(text) {
  if (asWritten() || !ARRANGED.test(text)) return text;
  return text
    .replace(/\bin rows (?=\d)/, () => `${store.say('arrangement.in-rows')} `)
    .replace(/\bin row (?=\d)/, () => `${store.say('arrangement.in-row')} `)
    .replace(/\bat (\d+) mA\b/, (_, setting_ma) => store.say('arrangement.at', { setting_ma }))
    .replace(/\b(\d+) in (series|parallel) on an output\b/, (_, bars, how) =>
      store.say(`arrangement.in-${how}`, { bars }),
    )
    .replace(/\bfor both bodies$/, () => store.say('arrangement.both'))
    .replace(/\bfed from the neighbour$/, () => store.say('arrangement.fed'));
}

/** A unit of the spec as it is read: 'per hour', 'years'; signs as 'W' and 'mm' are the same everywhere. @param {string} unit */
export function unitText(unit) {
  const code = unit.toLowerCase().replace(/[^a-z]+/g, '-');
  return store.tables.words[`unit.${code}`] ?? unit;
}

/** The title of a figure or a table of figures as it is read; the tables have it in English. @param {string} title */
export function figureTitle(title) {
  const code = title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '');
  return store.tables.words[`figure-title.${code}`] ?? title;
}
