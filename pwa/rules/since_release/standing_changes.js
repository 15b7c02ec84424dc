// What has changed since a conversion was released, and what of it stops the work? Twin: server/spanwalk/rules/since_release/standing_changes.py.

import { facet } from '../survey.js';
import { conflicts, fields, items } from './as_they_stand.js';
import { ballast } from './ballast.js';
import { dimmer } from './control.js';
import { fitNow } from './fit_again.js';
import { material, roomForBar, space } from './housing.js';
import { change, LOOK, now, STOP, saidBy } from './seen.js';
import { moisture, temperatures, volts, voltsOnLabel } from './surroundings.js';
import { decision, emergencyPositions, emergencyTime, notInRelease, position, progress } from './work.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */
/** @typedef {import('./seen.js').RecordName} RecordName */
/** @template {string} [T=string] @typedef {import('./seen.js').ViewRecord<T>} ViewRecord */

/** What no release was ever made with: it stops a conversion of which no facts were frozen. @type {Array<[RecordName, string, string, string[]]>} */
const NEVER = [
  ['kind', 'wiring', 'feeds', ['two', 'more']],
  ['kind', 'ballast', 'leaking', ['yes']],
  [
    'kind',
    'lamps',
    'fitted',
    ['led-tube-on-the-ballast', 'led-tube-on-mains', 'led-tube-on-own-driver', 'built-in-led', 'none'],
  ],
  ['room', 'surroundings', 'hazardous', ['yes']],
  ['group', 'decision', 'decision', ['leave-as-is', 'defer']],
];
const NOTHING = { id: '', type: '', parent: null, removed: true, facets: {}, conflicts: [] };

/**
 * Everything that is otherwise than when a conversion was released; what stops the work first.
 * @param {Survey} survey @param {ViewRecord} conversion @param {Reference} tables reference tables
 * @param {number | null} [position] one fixture of its group; null: all of them @returns {Change[]}
 */
export function changesOf(survey, conversion, tables, position = null) {
  const identity = facet(conversion, 'identity');
  const group = /** @type {ViewRecord<'group'>} */ (survey.get(conversion.parent) ?? NOTHING);
  const records = /** @type {Seen['records']} */ ({
    group,
    kind: survey.kindOf(group) ?? NOTHING,
    room: survey.roomOf(group) ?? NOTHING,
    site: survey.site(),
  });
  const { items: released = {}, head = -1 } = facet(
    /** @type {ViewRecord<'release'> | undefined} */ (survey.get(identity.release)),
    'identity',
  );
  /** @type {Seen} */
  const seen = { survey, facts: identity.facts ?? {}, released, records, tables, position, head };
  const lookedFor = identity.facts ? LOOKED_FOR : LOOKED_FOR_WITHOUT_FACTS;
  return stopsFirst(lookedFor.flatMap((lookFor) => lookFor(seen)));
}

/** @param {Change[]} changes */
export const stopsFirst = (changes) =>
  [...changes].sort((a, b) => Number(a.weight !== STOP) - Number(b.weight !== STOP));

/** A conversion of which no facts were frozen: what can be told of it is what it was surely not released with. @param {Seen} seen @returns {Change[]} */
function never(seen) {
  const found = NEVER.flatMap(([name, facetName, field, values]) => {
    const to = now(seen, name, facetName, field);
    const said = saidBy(/** @type {ViewRecord} */ (seen.records[name]), facetName);
    return values.includes(to) ? [change(`${name}.${facetName}.${field}`, STOP, null, to, said)] : [];
  });
  return [change('nothing-frozen', LOOK, null, null), ...found];
}

const LOOKED_FOR = [
  fields,
  volts,
  voltsOnLabel,
  ballast,
  dimmer,
  moisture,
  temperatures,
  space,
  material,
  roomForBar,
  emergencyTime,
  emergencyPositions,
  position,
  notInRelease,
  decision,
  progress,
  fitNow,
  items,
  conflicts,
];

const LOOKED_FOR_WITHOUT_FACTS = [never, position];
