// In which room somebody was last, on this phone.

import { store } from '../../store/store.js';

/** @param {string} site */
const keyOf = (site) => `spanwalk:room:${store.person?.id ?? ''}:${site}`;

/** @param {string} site @returns {string | null} id of the room */
export function lastRoom(site) {
  try {
    return localStorage.getItem(keyOf(site));
  } catch {
    return null;
  }
}

/** @param {string} site @param {string} room */
export function beIn(site, room) {
  try {
    localStorage.setItem(keyOf(site), room);
  } catch {
    // The walk begins at its first room then.
  }
}
