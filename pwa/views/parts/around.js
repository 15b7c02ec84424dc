// Those of a list that stand around one of them. Pure.

/**
 * @template T @param {T[]} list @param {(each: T) => boolean} isHere @param {number} most on either side
 * @returns {T[]} all of them where they are no more than that; from the list's start where none is here
 */
export function around(list, isHere, most) {
  const at = Math.max(0, list.findIndex(isHere));
  const from = Math.max(0, Math.min(at - most, list.length - 2 * most - 1));
  return list.slice(from, from + 2 * most + 1);
}
