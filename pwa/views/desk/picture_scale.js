// What pictures of figures have in common: how wide they are, and where a value stands.

/** Drawn as wide as a phone shows it, so that letters keep their size. */
export const WIDTH = 340;

/** Where values stand between two ends. @param {number[]} values @param {number} from @param {number} to */
export function scaleOf(values, from, to) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const span = high - low;
  return (/** @type {number} */ value) => from + (span ? (value - low) / span : 1 / 2) * (to - from);
}
