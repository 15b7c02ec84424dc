// What a whole site looks like in one hash, so that a phone can check its copy. Twin: server/spanwalk/sync/digest.py.

import { canonical, sha256Of } from './canonical.js';

const LIFE = 'life';

/**
 * One record's line, of what the server has of it and not of what this phone makes of it; null if it has none.
 *
 * @param {Pick<import('../storage/types.js').LocalRecord, 'id' | 'facets' | 'conflicts'>} record
 * @returns {string | null}
 */
export function digestLine({ id, facets, conflicts }) {
  const names = Object.keys(facets);
  const removed = facets[LIFE]?.value.removed ?? false;
  if (names.length === 0 || (removed && conflicts.length === 0)) return null;
  const said = Object.fromEntries(names.map((name) => [name, [facets[name].op, facets[name].value]]));
  return canonical([id, removed, said, conflicts.map((conflict) => conflict.id).sort()]);
}

/**
 * Count and digest of a copy.
 *
 * @param {Array<Pick<import('../storage/types.js').LocalRecord, 'id' | 'facets' | 'conflicts'>>} records
 */
export async function digest(records) {
  const lines = /** @type {string[]} */ (records.map(digestLine).filter((line) => line !== null)).sort();
  return { count: lines.length, digest: await sha256Of(lines.join('\n')) };
}
