// Reads tests/vectors/judging.json: fields set by path, readings written short. Twin: judging_cases.py.
import { readFileSync } from 'node:fs';

export const read = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'));
export const { base, cases } = read('../vectors/judging.json');
const names = ['lamps', 'instruments', 'expansion', 'prediction'];
export const tables = Object.fromEntries(names.map((name) => [name, read(`../../seed_data/reference/${name}.json`)]));

function reading(prefix, at, [position, row, length_ticks, more = {}]) {
  const identity = { position, row, cavity: 1, length_ticks, as_entered: '-', instrument: 'us-tape', graduation: '1-16-in' };
  return { id: `${prefix}${at}`, type: 'cavity_reading', parent: 'group', removed: false, facets: { ...more, identity: { ...identity, ...more.identity } }, conflicts: [] };
}

function trial(at, [position, row, wentIn, gap, more = {}]) {
  const identity = { position, row, cavity: 1, bar: 'four', went_in: wentIn ? 'went-in-by-hand' : 'did-not-go-in', ...(gap !== null && { gap_ticks: gap }) };
  return { id: `t${String(at).padStart(2, '0')}`, type: 'trial_bar', parent: 'group', removed: false, facets: { ...more, identity: { ...identity, ...more.identity } }, conflicts: [] };
}

/** Arguments of `judgeGroup` by name, but for the tables. */
export function argumentsOf({ set }) {
  const said = structuredClone(base);
  for (const [path, value] of Object.entries(set)) {
    const way = path.split('.');
    const last = way.pop();
    way.reduce((at, name) => at[name], said)[last] = value;
  }
  const readings = said.readings.map((short, at) => reading('r', at, short));
  const others = said.kind_readings.map(({ group, readings: theirs }) => [group, said.kind, theirs.map((short, at) => reading('o', at, short))]);
  return { ...said, readings, others, trials: said.trial_bars.map((short, at) => trial(at, short)) };
}

/** What stands at a path of the answer; null where there is nothing. */
export const shown = (found, path) => path.split('.').reduce((at, name) => at?.[name], found) ?? null;
