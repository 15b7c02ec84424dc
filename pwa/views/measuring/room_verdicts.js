// How the groups of a room are judged, for lists of rooms: worst first. Only rooms that are looked at are judged, a few
// milliseconds at a time, and each once until something is written.

import { readOfKind } from '../../rules/fit/by_lamp.js';
import { pooled, without } from '../../rules/fit/cavity.js';
import { counting, questionsOf, spreadOfGroup } from '../../rules/fit/sampling.js';
import { DEGREES, degreeOf } from '../../rules/judging/degree.js';
import { judgeGroup } from '../../rules/judging/judging.js';
import { facet, has, Survey } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { breather } from '../gently.js';
import { withRooms } from './judged_group.js';

/** @typedef {{degree: string, groups: number}} SoMany groups of a room at one degree */
/** @typedef {[ViewRecord<'group'>, ViewRecord<'kind'>, ViewRecord<'cavity_reading'>[]]} OfKind */
/**
 * What the groups of a kind say of each other.
 *
 * @typedef {object} Pool
 * @property {RecordView[]} records what it was made of
 * @property {Survey} survey
 * @property {OfKind[]} theirs groups that are to be converted
 * @property {import('../../rules/fit/cavity.js').Spread[]} spreads of each of them
 * @property {import('../../rules/fit/cavity.js').Spread} ofKind all of them pooled
 * @property {import('../../rules/fit/by_lamp.js').ReadOfKind} read
 */

const WORST_FIRST = [...DEGREES].reverse();

/** @param {string[]} degrees one of each group @returns {SoMany[]} worst first */
export const worstFirst = (degrees) =>
  WORST_FIRST.map((degree) => ({ degree, groups: degrees.filter((each) => each === degree).length })).filter(
    ({ groups }) => groups > 0,
  );

/** @type {WeakMap<Site, RoomVerdicts>} */
const ofSites = new WeakMap();

/** @param {Site} site */
export function verdictsOf(site) {
  const known = ofSites.get(site) ?? new RoomVerdicts(site);
  ofSites.set(site, known);
  return known;
}

export class RoomVerdicts {
  /** @param {Site} site */
  constructor(site) {
    this.site = site;
    /** By room. @type {Map<string, {turn: number, told: SoMany[]}>} */
    this.known = new Map();
    /** By kind. @type {Map<string, Pool>} */
    this.pools = new Map();
    /** One room after another. @type {Promise<unknown>} */
    this.queue = Promise.resolve();
    /** How many groups were judged; tests count them. */
    this.judged = 0;
  }

  /** What was last told of a room. @param {string} room */
  last(room) {
    return this.known.get(room)?.told ?? null;
  }

  /**
   * What is told of a room now.
   *
   * @param {string} room id @param {() => boolean} wanted asked before it is begun @returns {Promise<SoMany[] | null>} null: nobody wanted it any more
   */
  ask(room, wanted) {
    const next = this.queue.then(() => (wanted() ? this.#now(room) : null));
    this.queue = next.catch(() => {});
    return next;
  }

  /** @param {string} room */
  async #now(room) {
    const { turn } = this.site.reads;
    const known = this.known.get(room);
    if (known?.turn === turn) return known.told;
    const told = worstFirst(await this.#degreesIn(room));
    this.known.set(room, { turn, told });
    return told;
  }

  /** @param {string} room @returns {Promise<string[]>} of each group that is to be converted and has a kind */
  async #degreesIn(room) {
    const breathe = breather();
    const [groups, items] = await Promise.all([
      this.site.children(room, 'group'),
      this.site.all('catalogue_item'),
    ]);
    const bars = items.filter((item) => has(item, 'bar'));
    const found = [];
    for (const { id, facets } of groups) {
      await breathe();
      const pool = await this.#pool(facets.identity?.kind);
      const place = pool?.theirs.findIndex(([each]) => each.id === id) ?? -1;
      if (!pool || place < 0) continue;
      const trials = await this.site.children(id, 'trial_bar');
      await breathe();
      found.push(this.#degree(pool, place, bars, trials));
    }
    return found;
  }

  /** @param {Pool} pool @param {number} place @param {ViewRecord<'catalogue_item'>[]} bars @param {RecordView<'trial_bar'>[]} trials */
  #degree({ survey, theirs, spreads, ofKind, read }, place, bars, trials) {
    const [group, kind, readings] = theirs[place];
    const room = /** @type {ViewRecord<'room'>} */ (survey.roomOf(group));
    const elsewhere = without(ofKind, spreads[place]);
    const { reference } = store.tables;
    this.judged += 1;
    const told = judgeGroup(group, kind, room, survey.site(), readings, elsewhere, bars, reference, trials);
    return degreeOf(group, told, read).degree;
  }

  /** Made once, until one of its records is another. @param {string | undefined} kindId @returns {Promise<Pool | null>} */
  async #pool(kindId) {
    if (!kindId) return null;
    const [kind, own, alike] = await Promise.all([
      this.site.get(kindId),
      this.site.get(this.site.id),
      this.site.referring(kindId, 'group'),
    ]);
    if (!kind) return null;
    const records = /** @type {RecordView[]} */ (
      [...(await withRooms(this.site, alike)), kind, own].filter(Boolean)
    );
    const known = this.pools.get(kindId);
    if (known && isSame(known.records, records)) return known;
    const made = await pool(records, kindId);
    this.pools.set(kindId, made);
    return made;
  }
}

/** @param {unknown[]} a @param {unknown[]} b */
const isSame = (a, b) => a.length === b.length && a.every((each, place) => each === b[place]);

/** @param {RecordView[]} records @param {string} kindId @returns {Promise<Pool>} */
async function pool(records, kindId) {
  const breathe = breather();
  const { reference } = store.tables;
  const survey = new Survey(new Map(records.map((each) => [each.id, each])).values());
  const kind = /** @type {ViewRecord<'kind'>} */ (survey.get(kindId));
  const theirs = survey
    .groupsToConvert()
    .filter((group) => facet(group, 'identity').kind === kindId && survey.roomOf(group))
    .map((group) => /** @type {OfKind} */ ([group, kind, survey.children(group, 'cavity_reading')]));
  /** @type {import('../../rules/fit/cavity.js').Spread[]} */
  const spreads = [];
  /** @type {Record<string, Reason[]>[]} */
  const asked = [];
  for (const each of theirs) {
    await breathe();
    spreads.push(spreadOfGroup(...each, reference));
    asked.push(questionsOf(counting(each[2]), kind, reference));
  }
  const read = readOfKind(theirs.map(([group, its, own], place) => [group, its, own, asked[place]]));
  return { records, survey, theirs, spreads, ofKind: pooled(spreads), read };
}
