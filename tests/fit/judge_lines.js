// Judges each line of a file with the page's rules: one JSON answer a line. Run by tests/fit/differential.py.
import { createReadStream, readFileSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { judgeGroup } from '../../pwa/rules/judging/judging.js';

const [, , cases, tablesFile] = process.argv;
const tables = JSON.parse(readFileSync(tablesFile, 'utf8'));
for await (const line of createInterface({ input: createReadStream(cases, 'utf8') })) {
  const { group, kind, room, site, readings, kind_readings, bars, trial_bars } = JSON.parse(line);
  process.stdout.write(
    `${JSON.stringify(judgeGroup(group, kind, room, site, readings, kind_readings, bars, tables, trial_bars))}\n`,
  );
}
