// What others have entered since one last looked: entries by room. Pure.

/** @typedef {{entries: number, people: Set<string>, newest: string}} News */

/** Where what is on no room is counted. */
export const NOWHERE = '';

/**
 * Entries of others in one record, newer than a time.
 *
 * @param {RecordView} record @param {string} since device time @param {string} me id of who looks
 * @returns {News | null}
 */
export function newsOf(record, since, me) {
  const newer = Object.keys(record.at).filter((facet) => record.at[facet] > since && record.by[facet] !== me);
  if (newer.length === 0) return null;
  return {
    entries: newer.length,
    people: new Set(newer.map((facet) => record.by[facet])),
    newest: latest(newer.map((facet) => record.at[facet])),
  };
}

/** @param {string[]} times @returns {string} */
const latest = (times) => [...times].sort()[times.length - 1];

/** @param {News | undefined} before @param {News} more @returns {News} */
export const together = (before, more) =>
  before
    ? {
        entries: before.entries + more.entries,
        people: new Set([...before.people, ...more.people]),
        newest: latest([before.newest, more.newest]),
      }
    : more;
