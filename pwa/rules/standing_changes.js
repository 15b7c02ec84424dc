// What has changed since a conversion was released, and what of it stops the work? Twin: server/spanwalk/rules/standing_changes.py.

import * as constants from './constants.js';
import { judgeGroup } from './judging.js';
import { facet, has, inOrder, isPosition } from './survey.js';

/** @typedef {import('./survey.js').Survey} Survey */
/** @template {string} [T=string] @typedef {import('./survey.js').ViewRecord<T> & {by?: Record<string, string>, at?: Record<string, string>, seqs?: Record<string, number>}} ViewRecord */
/**
 * One thing that is otherwise than when it was released; see the twin.
 * @typedef {{fact: string, weight: string, before: unknown, now: unknown, about?: string, by?: string, at?: string}} Change
 */
/** @typedef {{by?: string, at?: string}} Said */
/** @typedef {Value} Row a facet's value */
/** @typedef {keyof FrozenRecords} RecordName */
/**
 * A conversion beside what the records say now; see the twin.
 * @typedef {{survey: Survey, facts: FrozenFacts, released: Record<string, FrozenItem>, records: {[N in RecordName]: ViewRecord<N>},
 *   tables: Reference, position: number | null, head: number}} Seen
 */

export const STOP = constants.STOP;
export const LOOK = constants.LOOK;
const NOT_SAID = ['', 'not-seen', 'not-said', 'as-the-kind'];
/** Air in which an item may be that does not say its limits [°C]. */
const SILENT_COLDEST_C = constants.SILENT_COLDEST_C;
const SILENT_HOTTEST_C = constants.SILENT_HOTTEST_C;
const PARTS = /** @type {const} */ (['bars', 'drivers', 'packs', 'others']);
const ITEM_FACETS = /** @type {const} */ (['bar', 'driver', 'accessory']);
/** A supply that turns out to be d.c. stops: whether a driver bears just these volts was never checked. */
const DIRECT = constants.DIRECT;
const BY_NAME = constants.BY_NAME;
const NO_DECISION = [null, 'convert-as-recommended', BY_NAME];
/** What no release was ever made with: it stops a conversion of which no facts were frozen. @type {Array<[RecordName, string, string, string[]]>} */
const NEVER = [
  ['kind', 'wiring', 'feeds', ['two', 'more']],
  ['kind', 'ballast', 'leaking', ['yes']],
  ['kind', 'lamps', 'fitted', ['led-tube-on-the-ballast', 'led-tube-on-mains', 'built-in-led', 'none']],
  ['room', 'surroundings', 'hazardous', ['yes']],
  ['group', 'decision', 'decision', ['leave-as-is', 'defer']],
];
const SIDES = constants.SIDES;
const MOISTURE = ['dry', 'damp', 'wet'];
const NOTHING = { id: '', type: '', parent: null, removed: true, facets: {}, conflicts: [] };

/** A value; null where it says that nothing was seen or said. @template V @param {V} value @returns {V | null} */
export const plain = (value) =>
  value === undefined ||
  NOT_SAID.includes(/** @type {string} */ (/** @type {unknown} */ (value))) ||
  (Array.isArray(value) && value.length === 0)
    ? null
    : value;

/** @param {unknown} a @param {unknown} b */
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

/** Which facet says what an item is. @param {FrozenItem | Record<string, Value>} item a record's facets, or what a release froze of it */
const facetOfItem = (item) =>
  ITEM_FACETS.find((name) => item[name] && Object.keys(item[name] ?? {}).length > 0);

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

/** @param {Seen} seen @param {RecordName} record @param {string} name @param {string} field */
const before = (seen, record, name, field) => plain(seen.facts[record]?.[name]?.[field]);
/** @param {Seen} seen @param {RecordName} record @param {string} name @param {string} field */
const now = (seen, record, name, field) =>
  plain(facet(/** @type {ViewRecord} */ (seen.records[record]), name)[field]);

/** The facet of a catalogue item as it is now, as it was released where it is there no more. @param {Seen} seen @param {string} id @returns {Value} */
function itemOf(seen, id) {
  const record = seen.survey.get(id);
  const name = record && facetOfItem(record.facets);
  if (record && name) return facet(record, name);
  const released = seen.released[id] ?? {};
  return released[facetOfItem(released) ?? 'bar'] ?? {};
}

/** Ids of the items that were released; packs only where one hangs. @param {Seen} seen @param {Array<typeof PARTS[number]>} parts @returns {string[]} */
function itemsOf(seen, ...parts) {
  const packs = before(seen, 'group', 'duty', 'emergency_positions') ?? [];
  const hasPack = seen.position === null || packs.includes(seen.position);
  return parts.flatMap((part) => (part === 'packs' && !hasPack ? [] : [...new Set(seen.facts[part] ?? [])]));
}

/** Whose word a facet is, and when, as far as it is known. @param {ViewRecord} record @param {string} name @returns {Said} */
export function saidBy(record, name) {
  const [by, at] = [record.by?.[name], record.at?.[name]];
  return { ...(by && { by }), ...(at && { at }) };
}

/** @param {string} fact @param {string} weight @param {unknown} from @param {unknown} to @param {Said} [said] @param {string} [about] @returns {Change} */
const change = (fact, weight, from, to, said = {}, about = '') => ({
  fact,
  weight,
  before: from,
  now: to,
  ...(about && { about }),
  ...said,
});

// -- compared as they stand

/** @type {WeakMap<object, Map<string, Record<string, StandingRow>>>} */
const rowsOfTable = new WeakMap();

/** Record and facet -> field -> row of the table; put together once. @param {Seen} seen @returns {Map<string, Record<string, StandingRow>>} */
function rowsOf({ tables }) {
  const { rows } = tables.standing;
  const known = rowsOfTable.get(rows);
  if (known) return known;
  /** @type {Map<string, Record<string, StandingRow>>} */
  const found = new Map();
  for (const row of rows) {
    const key = `${row.record}.${row.facet}`;
    const ofFacet = found.get(key);
    if (ofFacet) ofFacet[row.field] = row;
    else found.set(key, { [row.field]: row });
  }
  rowsOfTable.set(rows, found);
  return found;
}

/** Fields that differ and are compared as they stand, with the weight of each. @param {Row} from @param {Row} to @param {Record<string, StandingRow>} rows @returns {Array<[string, string]>} */
function differing(from, to, rows) {
  return [...new Set([...Object.keys(from), ...Object.keys(to)])].sort(inOrder).flatMap((field) => {
    const row = rows[field] ?? rows['*'];
    if (!row || ![STOP, LOOK].includes(row.class) || same(plain(from[field]), plain(to[field]))) return [];
    return [
      /** @type {[string, string]} */ ([field, (row.harmless ?? []).includes(to[field]) ? LOOK : row.class]),
    ];
  });
}

/** @param {Seen} seen @returns {Change[]} */
function fields(seen) {
  return [...rowsOf(seen)].flatMap(([key, rows]) => {
    const [name, facetName = ''] = /** @type {[RecordName, string]} */ (key.split('.'));
    const record = /** @type {ViewRecord | undefined} */ (seen.records[name]);
    if (!record) return [];
    const [from, to] = [seen.facts[name]?.[facetName] ?? {}, facet(record, facetName)];
    return differing(from, to, rows).map(([field, weight]) =>
      change(`${key}.${field}`, weight, plain(from[field]), plain(to[field]), saidBy(record, facetName)),
    );
  });
}

/** Facets that have two values since. @param {Seen} seen @returns {Change[]} */
function conflicts(seen) {
  const [rows, known] = [rowsOf(seen), seen.facts.conflicts ?? []];
  return Object.entries(seen.records).flatMap(([name, record]) =>
    record.conflicts.flatMap(({ id, facet: facetName, by, at }) => {
      const ofFacet = rows.get(`${name}.${facetName}`);
      if (!ofFacet || known.includes(id) || name === 'site') return [];
      const said = { by: by ?? '', at: at ?? '' };
      return change(
        'conflict',
        ofFacet.conflict ? STOP : LOOK,
        null,
        'two values',
        said,
        `${name}.${facetName}`,
      );
    }),
  );
}

/** Items that were recalled since, or of which the catalogue says something else. @param {Seen} seen @returns {Change[]} */
function items(seen) {
  const rows = rowsOf(seen);
  return [...new Set(itemsOf(seen, ...PARTS))].flatMap((id) => {
    const [record, released] = [seen.survey.get(id), seen.released[id] ?? {}];
    if (!record) return [];
    const code = released.code ?? '';
    const recalled = has(record, 'recall')
      ? [
          change(
            'item.recall',
            STOP,
            null,
            facet(record, 'recall').reason ?? null,
            saidBy(record, 'recall'),
            code,
          ),
        ]
      : [];
    const name = facetOfItem(record.facets);
    if (!name || !released[name]) return recalled;
    const [from, to] = [released[name], facet(record, name)];
    const other = differing(from, to, rows.get(`item.${name}`) ?? {}).map(([field, weight]) =>
      change(
        `item.${name}.${field}`,
        weight,
        plain(from[field]),
        plain(to[field]),
        saidBy(record, name),
        code,
      ),
    );
    return [...recalled, ...other];
  });
}

// -- judged with others

/** @param {Seen} seen @returns {Change[]} */
function volts(seen) {
  const [from, to] = [before(seen, 'group', 'supply', 'volts'), now(seen, 'group', 'supply', 'volts')];
  const turned = to === DIRECT && from !== to;
  const outside =
    turned || (to !== null && !itemsOf(seen, 'drivers').every((id) => takes(itemOf(seen, id), to)));
  if (!outside && from === to) return [];
  const weight = outside || to === null ? STOP : LOOK;
  return [change('group.supply.volts', weight, from, to, saidBy(seen.records.group, 'supply'))];
}

/** @param {Row} driver @param {string} supply */
const takes = (driver, supply) =>
  supply === 'dc'
    ? Boolean(driver.dc)
    : driver.volts_min <= Number(supply) && Number(supply) <= driver.volts_max;

/** @param {Seen} seen @returns {Change[]} */
function moisture(seen) {
  const fact = 'room.surroundings.moisture';
  const [from, to] = [
    before(seen, 'room', 'surroundings', 'moisture'),
    now(seen, 'room', 'surroundings', 'moisture'),
  ];
  const madeFor = itemsOf(seen, 'bars', 'drivers')
    .map((id) => itemOf(seen, id).moisture)
    .filter((each) => each !== undefined)
    .map((each) => MOISTURE.indexOf(each));
  const said = saidBy(seen.records.room, 'surroundings');
  if (to !== null && Math.min(...madeFor) < MOISTURE.indexOf(to)) return [change(fact, STOP, from, to, said)];
  return to === null && from !== null ? [change(fact, LOOK, from, to, said)] : [];
}

/** Air colder or hotter than an item bears; the room's where it says one, else the site's. @param {Seen} seen @returns {Change[]} */
function temperatures(seen) {
  /** @type {Array<[string, number, number]>} */
  const ends = [
    ['hottest_c', 1, SILENT_HOTTEST_C],
    ['coldest_c', -1, SILENT_COLDEST_C],
  ];
  return ends.flatMap(([field, sign, usual]) => {
    const from = before(seen, 'room', 'surroundings', field) ?? before(seen, 'site', 'settings', field);
    const ofRoom = now(seen, 'room', 'surroundings', field);
    const to = ofRoom ?? now(seen, 'site', 'settings', field);
    if (to === null) return [];
    const beyond = PARTS.some((part) =>
      itemsOf(seen, part).some((id) => {
        const item = itemOf(seen, id);
        return isBeyond(item, field, sign, to + riseOf(part, field, item), usual, from === to);
      }),
    );
    if (!beyond) return [];
    const { site, room } = seen.records;
    const said = ofRoom === null ? saidBy(site, 'settings') : saidBy(room, 'surroundings');
    return [change(`room.surroundings.${field}`, STOP, from, to, said)];
  });
}

/** By how much a driver gets hotter than the air in a closed body [K]. @param {string} part @param {string} field @param {Row} item */
const riseOf = (part, field, item) => (part === 'drivers' && field === 'hottest_c' ? (item.rise_k ?? 0) : 0);

/** Whether the air is beyond what an item bears; one that does not say was judged at the release. @param {Row} item @param {string} field @param {number} sign @param {number} airC @param {number} usualC @param {boolean} asBefore */
function isBeyond(item, field, sign, airC, usualC, asBefore) {
  const limit = item[field];
  const overMk = sign * (thousandths(airC) - thousandths(limit ?? usualC));
  return overMk > 0 && !(limit === undefined && asBefore);
}

/** @param {number} value */
const thousandths = (value) => Math.round(value * 1000);

/** A ballast space in which no way of laying the drivers goes any more. @param {Seen} seen @returns {Change[]} */
function space(seen) {
  const from = SIDES.map((side) => before(seen, 'kind', 'ballast_space', side));
  const to = SIDES.map((side) => now(seen, 'kind', 'ballast_space', side));
  const ways = seen.facts.ways ?? [];
  if (same(from, to) || ways.length === 0) return [];
  const known = to.every((each) => each !== null);
  if (known && ways.some((way) => way.every((needs, side) => needs <= to[side]))) return [];
  return [
    change('kind.ballast_space', known ? STOP : LOOK, from, to, saidBy(seen.records.kind, 'ballast_space')),
  ];
}

/** What the bar will lie on: the group's own where it differs, else the kind's. @param {Seen} seen @returns {Change[]} */
function material(seen) {
  const from =
    before(seen, 'group', 'differs', 'housing_material') ?? before(seen, 'kind', 'housing', 'material');
  const own = now(seen, 'group', 'differs', 'housing_material');
  const to = own ?? now(seen, 'kind', 'housing', 'material');
  if (from === to) return [];
  const said = own === null ? saidBy(seen.records.kind, 'housing') : saidBy(seen.records.group, 'differs');
  return [change('kind.housing.material', STOP, from, to, said)];
}

/** A body narrower or lower than its bars. @param {Seen} seen @returns {Change[]} */
function roomForBar(seen) {
  const bars = itemsOf(seen, 'bars').map((id) => itemOf(seen, id));
  return SIDES.slice(1).flatMap((side) => {
    const [from, to] = [before(seen, 'kind', 'housing', side), now(seen, 'kind', 'housing', side)];
    if (from === to || to === null || !bars.some((bar) => (bar[side] ?? 0) > to)) return [];
    return [change(`kind.housing.${side}`, STOP, from, to, saidBy(seen.records.kind, 'housing'))];
  });
}

/** @param {Seen} seen @returns {Change[]} */
function emergencyTime(seen) {
  const [from, to] = [
    before(seen, 'site', 'settings', 'emergency_min'),
    now(seen, 'site', 'settings', 'emergency_min'),
  ];
  const lasts = itemsOf(seen, 'packs').map((id) => itemOf(seen, id).duration_min);
  if (from === to || to === null || !lasts.some((each) => each < to)) return [];
  return [change('site.settings.emergency_min', STOP, from, to, saidBy(seen.records.site, 'settings'))];
}

/** @param {number[]} numbers */
const ascending = (numbers) => [...numbers].sort((a, b) => a - b);

/** @param {Seen} seen @returns {Change[]} */
function emergencyPositions(seen) {
  /** @type {number[]} */
  const from = before(seen, 'group', 'duty', 'emergency_positions') ?? [];
  /** @type {number[]} */
  const to = now(seen, 'group', 'duty', 'emergency_positions') ?? [];
  const differ = [...from.filter((each) => !to.includes(each)), ...to.filter((each) => !from.includes(each))];
  if (differ.length === 0) return [];
  const concerns = seen.position === null || differ.includes(seen.position);
  const said = saidBy(seen.records.group, 'duty');
  return [
    change('group.duty.emergency_positions', concerns ? STOP : LOOK, ascending(from), ascending(to), said),
  ];
}

/** A fixture that is there no more stops where it hung; that others are gone is looked at. @param {Seen} seen @returns {Change[]} */
function position(seen) {
  const { group } = seen.records;
  const said = saidBy(group, 'count');
  const from = ascending(before(seen, 'group', 'count', 'gone') ?? []);
  const to = ascending(now(seen, 'group', 'count', 'gone') ?? []);
  if (seen.position !== null && !isPosition(group, seen.position))
    return [change('position', STOP, seen.position, null, said)];
  return same(from, to) ? [] : [change('group.count.gone', LOOK, from, to, said)];
}

/** @param {Seen} seen @returns {Change[]} */
function decision(seen) {
  const said = saidBy(seen.records.group, 'decision');
  /** @param {string} field */
  const both = (field) => [before(seen, 'group', 'decision', field), now(seen, 'group', 'decision', field)];
  const [from, to] = both('decision');
  const [, name] = both('arrangement');
  const [accepted, accepts] = both('accepts_trial');
  const released = seen.facts.arrangement ?? null;
  const found = [];
  if (to === BY_NAME && name !== released)
    found.push(change('group.decision.arrangement', STOP, released, name, said));
  else if (!NO_DECISION.includes(to)) found.push(change('group.decision.decision', STOP, from, to, said));
  if (accepted && !accepts) found.push(change('group.decision.accepts_trial', STOP, true, null, said));
  return found;
}

/** @param {Seen} seen @returns {Change[]} */
function progress(seen) {
  const [from, to] = [
    before(seen, 'room', 'progress', 'progress'),
    now(seen, 'room', 'progress', 'progress'),
  ];
  const weight = { 'nothing-to-convert': STOP, 'no-access': LOOK }[/** @type {string} */ (to)];
  if (!weight || from === to) return [];
  return [change('room.progress.progress', weight, from, to, saidBy(seen.records.room, 'progress'))];
}

// -- readings against the bars that were released

/** The bars that were released, judged by all that is read by now; a reading that raises a question is to be looked at. @param {Seen} seen @returns {Change[]} */
function fitNow(seen) {
  const { fit: frozen, questions: asked = [] } = seen.facts;
  const { group, kind, room, site } = seen.records;
  if (!frozen || !has(kind, 'lamps')) return [];
  const readings = seen.survey.children(group, 'cavity_reading');
  const trials = seen.survey.children(group, 'trial_bar');
  if (isAsReleased(seen, [...readings, ...trials])) return [];
  const judged = judgeGroup(
    group,
    kind,
    room,
    site,
    readings,
    spreadOf(seen),
    barsOf(seen),
    seen.tables,
    trials,
  );
  const wanted = [...seen.facts.bars].sort(inOrder);
  const fit = judged.fits.find((each) => same([...each.bars].sort(inOrder), wanted));
  const verdict = fit ? fit.verdict : 'too long';
  const found = ['fits', frozen.verdict].includes(verdict)
    ? []
    : [
        change(
          'fit',
          verdict === 'tight' ? LOOK : STOP,
          frozen.verdict,
          verdict,
          newest([...readings, ...trials]),
        ),
      ];
  const questioned = Object.keys(judged.questions)
    .filter((id) => !asked.includes(id))
    .sort(inOrder)
    .map((id) => {
      const reading = /** @type {ViewRecord} */ (seen.survey.get(id));
      const entered = facet(reading, 'identity').as_entered ?? null;
      return change('questioned', LOOK, null, entered, saidBy(reading, 'identity'));
    });
  return [...found, ...questioned];
}

/** Whether nothing that a judgement hangs on was written after the release; see the twin. @param {Seen} seen @param {ViewRecord[]} read */
function isAsReleased(seen, read) {
  const bars = seen.facts.bars.flatMap((id) => seen.survey.get(id) ?? []);
  /** @type {ViewRecord[]} */
  const records = [...Object.values(seen.records), ...read, ...bars];
  return (
    read.length === seen.facts.readings &&
    records.every(
      ({ facets, seqs = {} }) =>
        Object.keys(facets).every((name) => name in seqs) &&
        Object.values(seqs).every((seq) => seq <= seen.head),
    )
  );
}

/** @param {Seen} seen */
function spreadOf(seen) {
  const { squares_ticks2: squares = '0', degrees = 0 } = seen.facts.spread ?? {};
  return { squares_ticks2: BigInt(squares), degrees: Number(degrees) };
}

/** The bars that were released, as the catalogue has them now, offered or not. @param {Seen} seen @returns {ViewRecord<'catalogue_item'>[]} */
const barsOf = (seen) => {
  // As much of an item as is looked at here.
  const items = [...new Set(seen.facts.bars)].map((id) => ({
    id,
    type: 'catalogue_item',
    parent: null,
    removed: false,
    facets: { identity: { item: 'bar', code: seen.released[id]?.code ?? '' }, bar: itemOf(seen, id) },
    conflicts: [],
  }));
  return /** @type {ViewRecord<'catalogue_item'>[]} */ (/** @type {unknown[]} */ (items));
};

/** The newest word among records, by the time of its phone. @param {ViewRecord[]} records @returns {Said} */
function newest(records) {
  const said = records.flatMap((record) => Object.keys(record.facets).map((name) => saidBy(record, name)));
  return said.reduce(
    (best, each) => (each.at && (!best.at || each.at > best.at) ? each : best),
    /** @type {Said} */ ({}),
  );
}

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
  moisture,
  temperatures,
  space,
  material,
  roomForBar,
  emergencyTime,
  emergencyPositions,
  position,
  decision,
  progress,
  fitNow,
  items,
  conflicts,
];
const LOOKED_FOR_WITHOUT_FACTS = [never, position];
