// A room's number that another room bears already: said while it is typed.

import { useLive } from '../hooks.js';
import { titleOf } from '../record_screens.js';

/** @param {string | undefined} number */
const alike = (number) => (number ?? '').trim().toLowerCase();

/**
 * What to say of a room's fields, as a form's `mind`.
 *
 * @param {Site} site @param {string | null} room its id; null while it is being made
 * @returns {(value: Value) => Record<string, Reason>}
 */
export function useNumberInUse(site, room) {
  const read = useLive(async () => {
    const [rooms, floors] = await Promise.all([site.all('room'), site.all('floor')]);
    return { rooms, floors: new Map(floors.map((floor) => [floor.id, titleOf(floor)])) };
  }, [site.id]);
  /** @param {Value} value @returns {Record<string, Reason>} */
  return ({ number }) => {
    const typed = alike(number);
    const other =
      typed && read?.rooms.find(({ id, facets }) => id !== room && alike(facets.identity?.number) === typed);
    if (!read || !other) return {};
    const where = [titleOf(other), read.floors.get(other.parent ?? '')].filter(Boolean).join(', ');
    return { number: { code: 'rooms.same-number', facts: { number, where } } };
  };
}
