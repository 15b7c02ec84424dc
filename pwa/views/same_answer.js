// Whether what was read again says what it said before. Pure.

/**
 * Records that were not read anew are the same ones, so that most of it is told at a glance.
 *
 * @param {unknown} a @param {unknown} b @returns {boolean} true only where nobody could see a difference
 */
export function sameAnswer(a, b) {
  if (Object.is(a, b)) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  const shape = Object.getPrototypeOf(a);
  if (shape !== Object.getPrototypeOf(b)) return false;
  if (Array.isArray(a)) return sameList(a, /** @type {unknown[]} */ (b));
  if (a instanceof Map || a instanceof Set) return sameList([...a], [.../** @type {Set<unknown>} */ (b)]);
  // Of anything else with behaviour of its own it is not known what it hides.
  if (shape !== Object.prototype && shape !== null) return false;
  const [mine, theirs] = [Object.entries(a), /** @type {Record<string, unknown>} */ (b)];
  return (
    mine.length === Object.keys(theirs).length &&
    mine.every(([name, value]) => Object.hasOwn(theirs, name) && sameAnswer(value, theirs[name]))
  );
}

/** @param {unknown[]} a @param {unknown[]} b */
const sameList = (a, b) => a.length === b.length && a.every((each, place) => sameAnswer(each, b[place]));
