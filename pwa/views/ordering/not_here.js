// What of a picking list has not come yet: of a part, for the rooms of the list. Pure.

import { expectedOn } from './orders.js';
import { stockOfDay } from './read_stock.js';

/** So many pieces of a line are not here yet, and the first day on which some are to come. @typedef {{pieces: number, on: string | null}} NotHere */

/**
 * What is not here yet for some rooms, by a part's code; of parts of which nothing was ordered or received, nothing.
 *
 * @param {import('../today/read_day.js').Day} day @param {Set<string>} rooms
 * @returns {Map<string, NotHere>}
 */
export function notHereFor(day, rooms) {
  const { stock, orders, names } = stockOfDay(day);
  /** @type {Map<string, NotHere>} */
  const found = new Map();
  for (const { room, items } of stock.groups) {
    if (!rooms.has(room)) continue;
    for (const [item, pieces] of Object.entries(items)) {
      const code = names.items.get(item)?.code ?? item;
      found.set(code, { pieces: pieces + (found.get(code)?.pieces ?? 0), on: expectedOn(orders, item) });
    }
  }
  return found;
}
