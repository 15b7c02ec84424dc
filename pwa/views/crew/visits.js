// What is checked off at one fixture: read from its visits, and written into this person's own on this phone, one save after another.

import { useEffect, useState } from 'preact/hooks';
import { checkedOffAt, mayGoOn } from '../../rules/installing/checked_off.js';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { dayOf } from '../today/days.js';

/** @typedef {'checks' | 'steps'} List */
/** @typedef {import('../../rules/installing/checked_off.js').Moment} Moment */
/**
 * What counts now: `mine`: by who holds this phone; `others`: names of others whose checks count.
 * @typedef {object} CheckingOff
 * @property {(list: List, what: string | number) => boolean} mine
 * @property {(list: List, what: string | number) => string[]} others
 * @property {string[]} lapsed checks of one's own that count no more
 * @property {string} begunAt when this person's visit began; empty where none counts now
 * @property {(list: List, what: string | number, on: boolean) => void} checkOff
 * @property {() => Promise<unknown>} saved resolves when all that was checked off is on the disk
 * @property {(list: List, what: string | number) => unknown} failed why the newest tap there is not on the disk
 */

const A_MINUTE_MS = 60_000;

/** Who looks at which fixture, now. @param {number} position @param {string} conversion @returns {Moment} */
export function momentNow(position, conversion) {
  const now = new Date();
  return { position, conversion, person: store.person?.id ?? '', day: dayOf(now), at: now.toISOString() };
}

/** Drawn again each minute, and when the phone comes out of the pocket: proofs grow old meanwhile. */
function useMinutes() {
  const [, setTurn] = useState(0);
  useEffect(() => {
    const again = () => setTurn((turn) => turn + 1);
    const timer = setInterval(again, A_MINUTE_MS);
    document.addEventListener('visibilitychange', again);
    return () => {
      clearInterval(timer);
      document.removeEventListener('visibilitychange', again);
    };
  }, []);
}

/** Codes of a card's steps, in the order of its whole list. @param {RecordView<'conversion'> | undefined} conversion @returns {string[]} */
const stepCodes = (conversion) =>
  (conversion?.facets.identity?.frozen?.steps ?? []).map((/** @type {CardStep} */ { code }) => code);

/**
 * What is checked off at one fixture.
 *
 * @param {Site} site @param {string} group @param {GroupRead | null | undefined} read @param {number} position @returns {CheckingOff}
 */
export function useCheckedOff(site, group, read, position) {
  useMinutes();
  const visits = useLive(() => site.children(group, 'visit'), [site.id, group]) ?? [];
  const [touched, setTouched] = useState(/** @type {Map<string, boolean>} */ (new Map()));
  const [failed, setFailed] = useState(/** @type {{key: string, problem: unknown} | null} */ (null));
  const conversion = read?.conversion;
  const now = momentNow(position, conversion?.id ?? '');
  const told = checkedOffAt(visits, read?.installations ?? [], stepCodes(conversion), now);
  /** @type {Map<string, string[]>} */
  const by = new Map();
  for (const { check, by: people } of told.checks) by.set(`checks.${check}`, people);
  for (const { place, by: people } of told.steps) by.set(`steps.${place}`, people);
  /** @param {List} list @param {string | number} what */
  const whose = (list, what) => by.get(`${list}.${what}`) ?? [];
  // What is on the disk needs no memory of the tap any more: from then on it may lapse.
  useEffect(() => {
    setTouched((before) => {
      const open = [...before].filter(([key, on]) => (by.get(key) ?? []).includes(now.person) !== on);
      return open.length < before.size ? new Map(open) : before;
    });
  }, [visits]);
  return {
    mine: (list, what) => touched.get(`${list}.${what}`) ?? whose(list, what).includes(now.person),
    others: (list, what) =>
      whose(list, what)
        .filter((person) => person !== now.person)
        .map((person) => store.personName(person)),
    lapsed: told.lapsed,
    begunAt: begunAt(visits, now, by),
    checkOff: (list, what, on) => {
      if (!conversion) return;
      const key = `${list}.${what}`;
      setTouched((before) => new Map([...before, [key, on]]));
      setFailed(null);
      inTurn(() => saveCheck(site, group, position, conversion.id, { list, what, on })).catch((problem) => {
        setFailed({ key, problem });
        setTouched(new Map());
      });
    },
    saved: () => queue,
    failed: (list, what) => (failed?.key === `${list}.${what}` ? failed.problem : null),
  };
}

/** When this person began, of what counts now: the first check. @param {RecordView<'visit'>[]} visits @param {Moment} now @param {Map<string, string[]>} by */
function begunAt(visits, now, by) {
  if (![...by.values()].some((people) => people.includes(now.person))) return '';
  const own = visits
    .map(({ facets, by: said }) => ({ ...facets.identity, person: said.identity }))
    .filter(
      ({ person, position, day }) => person === now.person && position === now.position && day === now.day,
    );
  return (
    own
      .map(({ begun_at = '' }) => begun_at)
      .sort()
      .at(-1) ?? ''
  );
}

/** @type {Promise<unknown>} */
let queue = Promise.resolve();

/** One save after another: each sees what the one before it wrote. @param {() => Promise<unknown>} save @returns {Promise<unknown>} */
function inTurn(save) {
  const next = queue.then(save, save);
  queue = next.catch(() => {});
  return next;
}

/**
 * Check off, or take a check back, on the disk. A check goes into the visit of this person on this phone, a new one where none
 * goes on; it is taken back from each of this phone's visits that has it.
 *
 * @param {Site} site @param {string} group @param {number} position @param {string} conversion
 * @param {{list: List, what: string | number, on: boolean}} change
 */
export async function saveCheck(site, group, position, conversion, change) {
  const [visits, installations, phone] = await Promise.all([
    site.children(group, 'visit'),
    site.children(group, 'installation'),
    site.device(),
  ]);
  const now = momentNow(position, conversion);
  const drafts = change.on
    ? draftsOfCheck(
        site,
        group,
        visits.find((each) => mayGoOn(each, installations, phone, now)),
        phone,
        now,
        change,
      )
    : visits
        .filter((each) => isOwn(each, phone, now) && listOf(each, change.list).includes(change.what))
        .map((each) => draftOf(each.id, each, change));
  if (drafts.length > 0) await site.save(drafts);
}

/** @param {RecordView<'visit'>} visit @param {string} phone @param {Moment} now */
const isOwn = ({ facets, by }, phone, now) =>
  by.identity === now.person &&
  facets.identity?.phone === phone &&
  facets.identity?.position === now.position &&
  facets.identity?.conversion === now.conversion;

/** @param {RecordView<'visit'> | undefined} visit @param {List} list @returns {Array<string | number>} */
const listOf = (visit, list) => visit?.facets.ticks?.[list] ?? [];

/** @param {Site} site @param {string} group @param {RecordView<'visit'> | undefined} visit @param {string} phone @param {Moment} now @param {{list: List, what: string | number, on: boolean}} change @returns {Draft[]} */
function draftsOfCheck(site, group, visit, phone, now, change) {
  if (visit)
    return listOf(visit, change.list).includes(change.what) ? [] : [draftOf(visit.id, visit, change)];
  const record = site.newId();
  const { position, conversion, at: begun_at, day } = now;
  const value = { parent: group, position, conversion, begun_at, day, phone };
  return [
    { record, type: 'visit', facet: 'identity', value, seen: null },
    draftOf(record, undefined, change),
  ];
}

/** @param {string} record @param {RecordView<'visit'> | undefined} visit @param {{list: List, what: string | number, on: boolean}} change @returns {Draft} */
function draftOf(record, visit, { list, what, on }) {
  const rest = listOf(visit, list).filter((each) => each !== what);
  const value = { ...visit?.facets.ticks, [list]: on ? [...rest, what] : rest };
  const said = Object.fromEntries(Object.entries(value).filter(([, each]) => each.length > 0));
  return { record, type: 'visit', facet: 'ticks', value: said, seen: visit?.seen.ticks ?? null };
}
