// Numbers to read, those that follow one another as one: '1–4, 7, 9–10'.

/** @param {number[]} numbers ascending @returns {string} */
export function ranges(numbers) {
  /** @type {[number, number][]} */
  const found = [];
  for (const each of numbers) {
    const last = found.at(-1);
    if (last && each === last[1] + 1) last[1] = each;
    else found.push([each, each]);
  }
  return found.map(([from, to]) => (from === to ? `${from}` : `${from}–${to}`)).join(', ');
}
