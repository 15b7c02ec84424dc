// What was answered once for a floor or a panel, where a room or a group says nothing itself. Twin: server/spanwalk/rules/inherited.py.

import * as constants from './constants.js';

/** One inherited answer: in which facet, which field, and the id of the record that it stands on. @typedef {{facet: string, field: string, source: string}} Answer */

/** Answers of a floor that hold for its rooms: facet, the field that counts, and the fields that go with it. */
const ROOM_FROM_FLOOR = [
  ...constants.CEILING_FROM_FLOOR,
  ...constants.MOISTURE_FROM_FLOOR,
  ...constants.WARMTH_FROM_FLOOR,
  ...constants.HOURS_FROM_FLOOR,
  ...constants.WORK_HOURS_FROM_FLOOR,
];
const VOLTS_FROM_ABOVE = constants.VOLTS_FROM_ABOVE;
const PANEL_FROM_FLOOR = constants.PANEL_FROM_FLOOR;

/** What is answered above rooms and groups: by floors, and by panels. */
export class Above {
  /** @param {Iterable<ViewRecord>} records the site's, in any order; floors and panels are looked at */
  constructor(records) {
    const found = [...records]
      .filter(({ type, removed }) => (type === 'floor' || type === 'panel') && !removed)
      .sort((a, b) => (a.id < b.id ? -1 : a.id > b.id ? 1 : 0));
    this.floors = new Map(found.filter(({ type }) => type === 'floor').map((each) => [each.id, each]));
    /** @type {Map<string, ViewRecord>} */
    this.panels = new Map();
    for (const each of found.filter(({ type }) => type === 'panel')) {
      const name = samePanel(facetOf(each, 'identity').name);
      if (!this.panels.has(name)) this.panels.set(name, each);
    }
    /** Nothing is answered above: records are what they say themselves. */
    this.saysNothing =
      this.panels.size === 0 &&
      found.every(({ facets }) => Object.keys(facets).every((name) => name === 'identity'));
  }

  /**
   * A room with what its floor answers for it, and which answers those are. What is hazardous is never inherited.
   * @template {ViewRecord} R @param {R} room @returns {{record: R, answers: Answer[]}}
   */
  room(room) {
    const floor = this.floors.get(room.parent ?? '');
    return filled(room, [[floor, ROOM_FROM_FLOOR]]);
  }

  /**
   * A group with panel and volts of its floor, and the volts of its panel, which come first.
   * @template {ViewRecord} R @param {R} group @param {ViewRecord | undefined} room @returns {{record: R, answers: Answer[]}}
   */
  group(group, room) {
    const floor = this.floors.get(room?.parent ?? '');
    const named = filled(group, [[floor, PANEL_FROM_FLOOR]]);
    const panel = this.panels.get(samePanel(facetOf(named.record, 'supply').panel));
    const { record, answers } = filled(named.record, [
      [panel, VOLTS_FROM_ABOVE],
      [floor, VOLTS_FROM_ABOVE],
    ]);
    return { record, answers: [...named.answers, ...answers] };
  }
}

/** By what two names of panels are compared: any case, no spaces around. @param {unknown} name */
export const samePanel = (name) =>
  String(name ?? '')
    .trim()
    .toLowerCase();

/** @param {ViewRecord} record @param {string} name @returns {Value} */
const facetOf = (record, name) => /** @type {Record<string, Value>} */ (record.facets)[name] ?? {};

/** @param {unknown} value */
const isSeen = (value) => value !== undefined && value !== null && value !== constants.NOT_SEEN;

/**
 * The record, each field of which it says nothing taken from the first source that says something.
 * @template {ViewRecord} R @param {R} record @param {Array<[ViewRecord | undefined, readonly string[]]>} sources
 * @returns {{record: R, answers: Answer[]}}
 */
function filled(record, sources) {
  /** @type {Answer[]} */
  const answers = [];
  let now = record;
  for (const [source, fields] of sources) {
    for (const each of source ? fields : []) {
      const [name, field, ...goingWith] = each.split('.');
      const [own, theirs] = [facetOf(now, name), facetOf(/** @type {ViewRecord} */ (source), name)];
      if (isSeen(own[field]) || !isSeen(theirs[field])) continue;
      answers.push({ facet: name, field, source: /** @type {ViewRecord} */ (source).id });
      const { [field]: _, ...others } = own;
      for (const gone of goingWith) delete others[gone];
      const taken = [field, ...goingWith].filter((one) => one in theirs).map((one) => [one, theirs[one]]);
      const value = { ...others, ...Object.fromEntries(taken) };
      now = withFacet(now, name, value, Object.keys(own).length > 0 ? null : (source ?? null));
    }
  }
  return { record: now, answers };
}

/**
 * The record with another value of a facet; `said`: whose word it is, where the record had none.
 * @template {ViewRecord} R @param {R} record @param {string} name @param {Value} value @param {ViewRecord | null} said @returns {R}
 */
function withFacet(record, name, value, said) {
  const found = { ...record, facets: { ...record.facets, [name]: value } };
  for (const what of /** @type {const} */ (['by', 'at'])) {
    const [ours, theirs] = [record, said].map(
      (each) => /** @type {Partial<RecordView> | null} */ (each)?.[what],
    );
    if (ours && theirs) Object.assign(found, { [what]: { ...ours, [name]: theirs[name] ?? '' } });
  }
  return found;
}
