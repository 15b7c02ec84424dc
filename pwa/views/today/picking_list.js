// What to take along for the fixtures that are left to do: parts as released, caps and labels, containers for what comes out.

import { releasedAt } from '../../rules/installing/as_fitted.js';
import { byPlace } from '../../rules/installing/outcomes.js';
import { facet, fixturesOf, pushTo } from '../../rules/survey.js';
import { withPcb } from '../crew/card_now.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** So many to be set to a current [mA]. @typedef {{ma: number, number: number}} Setting */
/** So many of one thing. @typedef {{sort: string, item: string, wanted: number, settings: Setting[]}} Wanted */
/** What one room wants of a thing, and what was said of it last. @typedef {{room: RecordView<'room'>, release: string, wanted: number, settings: Setting[], ticked: boolean, short: number}} RoomsPart */
/** A line of a picking list over one or several rooms. @typedef {{sort: string, item: string, wanted: number, settings: Setting[], picked: number, short: number, ticked: boolean, parts: RoomsPart[]}} PickingLine */

/** In the order in which they are loaded; what comes out comes last. */
export const SORTS = /** @type {const} */ ([
  'bar',
  'driver',
  'accessory',
  'emergency-pack',
  'cap',
  'label',
  'lamps-out',
  'ballasts-out',
  'batteries-out',
]);
/** Of which there can be too few. */
export const isPart = (/** @type {string} */ sort) => !sort.endsWith('-out');
const PACK = 'emergency-pack';
/** Between the ballast and what is suspected of it. */
export const BETWEEN = ' · ';
/** Each lamp stands between two sockets, each with up to two leads (common practice, no source): so many caps do at most. */
const CAPS_PER_LAMP = 4;

/**
 * In which container something goes that comes out: lamps by kind and length, batteries by what is in them, ballasts
 * that may hold PCBs apart from the others. What nobody knows to be free of PCBs may hold them.
 *
 * @param {{sort: string, item: string}} line
 * @returns {Container | null} null: it is a part, not waste
 *
 * @typedef {'lamps' | 'ballasts-apart' | 'ballasts' | 'batteries'} Container
 */
export function containerOf({ sort, item }) {
  if (sort === 'lamps-out') return 'lamps';
  if (sort === 'batteries-out') return 'batteries';
  if (sort !== 'ballasts-out') return null;
  return item.split(BETWEEN).at(-1) === 'not suspect' ? 'ballasts' : 'ballasts-apart';
}
/** As they are loaded. */
export const CONTAINERS = /** @type {const} */ (['lamps', 'ballasts-apart', 'ballasts', 'batteries']);

/** What one group wants for the fixtures that are left; ballasts that may hold PCB by what is known now go apart. @param {Job} job @returns {Wanted[]} */
export function wantedOf(job) {
  const card = withPcb(job.conversion, job);
  const packs = new Set(
    (card.accessories ?? []).filter(({ purpose }) => purpose === PACK).map(({ name }) => name),
  );
  const parts = job.left.flatMap((position) =>
    releasedAt(job.conversion, position, fixturesOf(job.group)).map((each) => ({
      sort: packs.has(each.code) ? PACK : each.kind,
      item: each.code,
      wanted: each.number,
      settings: each.setting_ma === undefined ? [] : [{ ma: each.setting_ma, number: each.number }],
    })),
  );
  return added([...parts, ...besides(card, job.left)]);
}

/** Caps, labels, and what comes out. @param {Partial<Card>} card @param {number[]} left @returns {Wanted[]} */
function besides({ remove, emergency }, left) {
  const { lamps = 0, lamp = '', ballasts = 0, ballast = '', pcb = '' } = remove ?? {};
  const batteries =
    emergency?.duty === 'battery-in-fixture'
      ? left.filter((each) => emergency.positions?.includes(each)).length
      : 0;
  /** @type {Array<[string, string, number]>} */
  const lines = [
    ['cap', '', lamps * CAPS_PER_LAMP * left.length],
    ['label', '', left.length],
    ['lamps-out', lamp, lamps * left.length],
    ['ballasts-out', [ballast, pcb].filter(Boolean).join(BETWEEN), ballasts * left.length],
    ['batteries-out', emergency?.old_battery ?? 'not-seen', batteries],
  ];
  return lines
    .filter(([, , wanted]) => wanted > 0)
    .map(([sort, item, wanted]) => ({ sort, item, wanted, settings: [] }));
}

/** @param {{sort: string, item: string}} line */
const keyOf = ({ sort, item }) => `${sort}|${item}`;

/** The same things together. @param {Wanted[]} lines @returns {Wanted[]} */
function added(lines) {
  /** @type {Map<string, Wanted>} */
  const found = new Map();
  for (const each of lines) {
    const before = found.get(keyOf(each));
    found.set(keyOf(each), {
      ...each,
      wanted: each.wanted + (before?.wanted ?? 0),
      settings: settingsOf([...(before?.settings ?? []), ...each.settings]),
    });
  }
  return [...found.values()];
}

/** How many are set to each current. @param {Setting[]} some @returns {Setting[]} the lowest current first */
function settingsOf(some) {
  /** @type {Map<number, number>} */
  const found = new Map();
  for (const { ma, number } of some) found.set(ma, number + (found.get(ma) ?? 0));
  return [...found].map(([ma, number]) => ({ ma, number })).sort((a, b) => a.ma - b.ma);
}

/**
 * The picking list of some rooms: each thing once, with what each room wants of it.
 *
 * @param {Job[]} jobs of these rooms, in the order of the walk @param {RecordView<'picking'>[]} pickings all of the site
 * @returns {PickingLine[]}
 */
export function pickingList(jobs, pickings) {
  const said = saidLast(pickings);
  /** @type {Map<string, Job[]>} */
  const rooms = new Map();
  for (const job of jobs) if (job.left.length > 0) pushTo(rooms, job.room.id, job);
  /** @type {Map<string, {wanted: Wanted, part: RoomsPart}[]>} */
  const lines = new Map();
  for (const here of rooms.values()) {
    const release = newestRelease(here);
    for (const wanted of added(here.flatMap(wantedOf))) {
      const last = facet(said.get([here[0].room.id, release, keyOf(wanted)].join('|')), 'identity');
      // What was picked for fewer fixtures than are wanted now is not picked.
      const ticked = last.ticked === true && (last.wanted ?? 0) >= wanted.wanted;
      const { settings } = wanted;
      const part = {
        room: here[0].room,
        release,
        wanted: wanted.wanted,
        settings,
        ticked,
        short: last.short ?? 0,
      };
      pushTo(lines, keyOf(wanted), { wanted, part });
    }
  }
  return [...lines.values()].map(lineOf).sort(asLoaded);
}

/** @param {{wanted: Wanted, part: RoomsPart}[]} some @returns {PickingLine} */
function lineOf(some) {
  const [{ wanted: first }] = some;
  const parts = some.map(({ part }) => part);
  const sum = (/** @type {(part: RoomsPart) => number} */ of) =>
    parts.reduce((all, each) => all + of(each), 0);
  return {
    sort: first.sort,
    item: first.item,
    settings: settingsOf(some.flatMap(({ wanted }) => wanted.settings)),
    wanted: sum((each) => each.wanted),
    picked: sum((each) => (each.ticked ? each.wanted : 0)),
    short: sum((each) => each.short),
    ticked: parts.every((each) => each.ticked),
    parts,
  };
}

/** @param {PickingLine} a @param {PickingLine} b */
const asLoaded = (a, b) =>
  placeOfSort(a.sort) - placeOfSort(b.sort) || a.item.localeCompare(b.item, undefined, { numeric: true });
/** @param {string} sort */
const placeOfSort = (sort) => /** @type {readonly string[]} */ (SORTS).indexOf(sort);

/** @param {Job[]} jobs @returns {string} id */
function newestRelease(jobs) {
  const told = jobs.map(({ conversion }) => facet(conversion, 'identity'));
  return told.reduce((a, b) => (b.number > a.number ? b : a)).release;
}

/** What was said last of each thing in each room. @param {RecordView<'picking'>[]} pickings */
function saidLast(pickings) {
  return new Map(
    [...pickings].sort(byPlace).map((each) => {
      const { release = '', sort = '', item = '' } = facet(each, 'identity');
      return [[each.parent, release, keyOf({ sort, item })].join('|'), each];
    }),
  );
}

/** A line ticked or unticked, in each of its rooms. @param {PickingLine} line @param {boolean} ticked @returns {Array<{room: string, value: Value}>} */
export const pickedParts = (line, ticked) => line.parts.map((part) => saidOf(line, part, ticked, 0));

/** So many are missing: the rooms that come first get theirs, the last go short. @param {PickingLine} line @param {number} short @returns {Array<{room: string, value: Value}>} */
export function shortParts(line, short) {
  let missing = short;
  return [...line.parts]
    .reverse()
    .map((part) => {
      const here = Math.min(missing, part.wanted);
      missing -= here;
      return saidOf(line, part, here === 0, here);
    })
    .reverse();
}

/** @param {PickingLine} line @param {RoomsPart} part @param {boolean} ticked @param {number} short */
const saidOf = ({ sort, item }, { room, release, wanted }, ticked, short) => ({
  room: room.id,
  value: { release, sort, ...(item && { item }), wanted, ticked, ...(short > 0 && { short }) },
});
