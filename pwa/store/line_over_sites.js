// What the one line says of all open sites together: the worst of their states, and their sums.

/** @typedef {import('../sync/engine.js').Status} Status */

/** What it says when several sites differ. @type {Status['state'][]} */
const WORST_FIRST = [
  'storage-failing', 'signed-out', 'sending', 'needs-attention', 'failing', 'offline', 'conflict', 'unsent', 'sent',
]; // biome-ignore format: one line says it

/**
 * @param {Status[]} all of each open site
 * @param {number} closed how many sites have a database here that does not open: what waits there is not known
 * @returns {Status}
 */
export function lineOverSites(all, closed) {
  const known = closed > 0 ? ['needs-attention'] : [];
  const states = new Set([...known, ...all.map((status) => status.state)]);
  const state = WORST_FIRST.find((each) => states.has(each)) ?? 'sent';
  const worst = all.find((status) => status.state === state);
  /** @param {'unsent' | 'photos' | 'attention' | 'conflicts'} name */
  const sum = (name) => all.reduce((total, status) => total + status[name], 0);
  return {
    state,
    unsent: sum('unsent'),
    photos: sum('photos'),
    attention: sum('attention') + closed,
    conflicts: sum('conflicts'),
    photosWait: all.some((status) => status.photosWait),
    nextTry: worst?.nextTry ?? null,
    why: worst?.why ?? (closed > 0 ? 'phone.site-closed' : null),
    ...(worst?.gone && { gone: true }),
    mismatch: all.some((status) => status.mismatch),
    heard: all.length > 0 && all.every((status) => status.heard),
  };
}
