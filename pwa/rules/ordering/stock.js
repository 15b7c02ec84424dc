// What lies ready of each item, what is kept for rooms, and which groups lack what. Twin: server/spanwalk/rules/ordering/stock.py.

import { inOrder } from '../survey.js';

/** @typedef {{item: string, good: number, damaged?: number, wrong?: number, short?: number}} Came */
/** @typedef {{item: string, move: string, pieces: number}} Moved */
/** What a group still wants; `kept`: it is kept for its room. @typedef {{room: string, group: string, kept: boolean, wants: Record<string, number>}} Claim */
/**
 * How an item stands [pieces]; see the twin.
 * @typedef {{ordered: number, received: number, damaged: number, wrong: number, short: number, to_send_back: number, returned: number, taken: number, brought: number, used: number,
 *   here: number, wanted: number, kept: number, free: number, lacking: number, to_come: number}} ItemStock
 */
/** @typedef {{room: string, group: string, items: Record<string, number>}} Lacks */
/** @typedef {{items: Record<string, ItemStock>, groups: Lacks[]}} Stock */

const INTO = 'brought-from-elsewhere';
const RETURNED = 'returned-to-supplier';
/** Damaged or wrong pieces, which never were stock. */
const SENT_BACK = 'damaged-sent-back';
const NOT_TAKEN = [INTO, RETURNED, SENT_BACK];

/**
 * How each item stands, and which groups lack what: those of rooms for which things are kept are served first.
 *
 * @param {Record<string, number>} ordered @param {Came[]} deliveries @param {Moved[]} moves @param {Record<string, number>} used @param {Claim[]} claims in the order of the walk
 * @returns {Stock}
 */
export function stockOf(ordered, deliveries, moves, used, claims) {
  const known = new Set([...Object.keys(ordered), ...[...deliveries, ...moves].map(({ item }) => item)]);
  /** @type {Record<string, ItemStock>} */
  const items = {};
  for (const item of [...known].sort(inOrder))
    items[item] = itemOf(item, ordered, deliveries, moves, used, claims);
  const left = new Map(Object.entries(items).map(([item, { here }]) => [item, Math.max(0, here)]));
  const served = [...claims.filter(({ kept }) => kept), ...claims.filter(({ kept }) => !kept)];
  return { items, groups: served.map((each) => servedOf(each, left)) };
}

/** @template T @param {T[]} some @param {(each: T) => number} of */
const sum = (some, of) => some.reduce((all, each) => all + of(each), 0);

/** @param {string} item @param {Record<string, number>} ordered @param {Came[]} deliveries @param {Moved[]} moves @param {Record<string, number>} used @param {Claim[]} claims @returns {ItemStock} */
function itemOf(item, ordered, deliveries, moves, used, claims) {
  const came = deliveries.filter((each) => each.item === item);
  const received = sum(came, ({ good }) => good);
  const moved = moves.filter((each) => each.item === item);
  /** @param {(move: string) => boolean} is */
  const movedBy = (is) =>
    sum(
      moved.filter(({ move }) => is(move)),
      ({ pieces }) => pieces,
    );
  const brought = movedBy((move) => move === INTO);
  const returned = movedBy((move) => move === RETURNED);
  const taken = movedBy((move) => !NOT_TAKEN.includes(move));
  const here = received + brought - (used[item] ?? 0) - returned - taken;
  const [damaged, wrong] = [sum(came, (each) => each.damaged ?? 0), sum(came, (each) => each.wrong ?? 0)];
  const wanted = sum(claims, ({ wants }) => wants[item] ?? 0);
  const keptWanted = sum(
    claims.filter((each) => each.kept),
    ({ wants }) => wants[item] ?? 0,
  );
  const kept = Math.min(Math.max(0, here), keptWanted);
  return {
    ordered: ordered[item] ?? 0,
    received,
    damaged,
    wrong,
    short: sum(came, ({ short = 0 }) => short),
    to_send_back: Math.max(0, damaged + wrong - movedBy((move) => move === SENT_BACK)),
    returned,
    taken,
    brought,
    used: used[item] ?? 0,
    here,
    wanted,
    kept,
    free: here - kept,
    lacking: Math.max(0, wanted - Math.max(0, here)),
    to_come: Math.max(0, (ordered[item] ?? 0) - received),
  };
}

/** @param {Claim} claim @param {Map<string, number>} left is taken from @returns {Lacks} */
function servedOf({ room, group, wants }, left) {
  /** @type {Record<string, number>} */
  const items = {};
  for (const [item, wanted] of Object.entries(wants).sort(([a], [b]) => inOrder(a, b))) {
    const there = left.get(item);
    if (there === undefined) continue;
    const given = Math.min(wanted, there);
    left.set(item, there - given);
    if (given < wanted) items[item] = wanted - given;
  }
  return { room, group, items };
}
