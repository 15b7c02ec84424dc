// What of a picking list has not come yet: of a part, for the rooms of the list. Pure.

import { expectedOf } from './orders.js';
import { stockOfDay } from './read_stock.js';

/** So many pieces of a line are not here yet, and when some are to come. @typedef {{pieces: number, expected: import('./orders.js').Expected}} NotHere */

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
      const before = found.get(code)?.pieces ?? 0;
      found.set(code, { pieces: pieces + before, expected: expectedOf(orders, item) });
    }
  }
  return found;
}
