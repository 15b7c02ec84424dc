// In which room somebody was last, on this phone.

import { store } from '../../store/store.js';

/** So late it is written: what writes to the disk at once would hold up the drawing of the room. */
const AFTER_MS = 300;
/** Not written yet. @type {Map<string, string>} */
const waiting = new Map();

/** @param {string} site */
const keyOf = (site) => `spanwalk:room:${store.person?.id ?? ''}:${site}`;

/** @param {string} site @returns {string | null} id of the room */
export function lastRoom(site) {
  const key = keyOf(site);
  try {
    return waiting.get(key) ?? localStorage.getItem(key);
  } catch {
    return null;
  }
}

/** @param {string} site @param {string} room */
export function beIn(site, room) {
  if (waiting.size === 0) setTimeout(write, AFTER_MS);
  waiting.set(keyOf(site), room);
}

function write() {
  try {
    for (const [key, room] of waiting) localStorage.setItem(key, room);
  } catch {
    // The walk begins at its first room then.
  }
  waiting.clear();
}
