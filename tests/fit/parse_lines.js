// Reads each text of a file with the page's rules, and shows each length. Run by tests/fit/test_lengths_on_both_sides.py.
import { readFileSync } from 'node:fs';
import { formatInches, formatMm, parseLength } from '../../pwa/rules/measuring/lengths.js';

const { texts, lengths } = JSON.parse(readFileSync(process.argv[2], 'utf8'));
const said = {
  read: texts.map(([text, units]) => parseLength(text, units)),
  shown: lengths.map((ticks) => [formatInches(ticks), formatMm(ticks)]),
};
process.stdout.write(JSON.stringify(said));
