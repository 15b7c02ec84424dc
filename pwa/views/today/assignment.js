// The draft of who has a room on a day: assigned, taken or given back.

import { store } from '../../store/store.js';

/** Somebody and a room for a day. @param {Site} site @param {string} room @param {string} day @param {'assigned' | 'taken' | 'given-back'} deed @param {{id?: string | null, name: string} | null} [who] who is signed in where absent @returns {Draft} */
export const assignment = (site, room, day, deed, who = store.person) => ({
  record: site.newId(),
  type: 'assignment',
  facet: 'identity',
  seen: null,
  value: {
    parent: room,
    day,
    deed,
    who: who?.name ?? '',
    ...(who?.id && { person: who.id }),
    noted_at: new Date().toISOString(),
  },
});
