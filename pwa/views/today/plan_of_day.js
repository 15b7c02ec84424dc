// The plan of a floor with the rooms that somebody has today: each with the word and colour of its state.

import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { titleOf } from '../record_screens.js';
import { FloorPlan } from '../plans_of_floors/floor_plan.js';
import { pinOf, whereOf } from '../plans_of_floors/pins.js';
import { say } from '../words.js';
import { holds } from './days.js';
import { byRoom, stoppedIn } from './read_day.js';
import { LOOKS, roomState } from './room_state.js';

/** @typedef {import('./read_day.js').Day} Day */
/** @typedef {import('../plans_of_floors/pins.js').Pin} Pin */

/** The screen of a room for a crew. @param {string} site @param {string} room */
export const roomPath = (site, room) => `/s/${site}/today/room/${room}`;

/**
 * Pins of the rooms of a floor that somebody has today, by what is on the phone.
 *
 * @param {Day} day @param {string} floor id @param {{id: string, name: string} | null} person who looks
 * @returns {Pin[]}
 */
export function pinsOfDay(day, floor, person) {
  const planBy = (/** @type {string} */ id) =>
    /** @type {import('../plans_of_floors/pins.js').Plan | undefined} */ (day.survey.get(id));
  return byRoom(day.jobs).flatMap(({ room, jobs, left, fixtures }) => {
    const here = room.parent === floor && day.holders.has(room.id);
    const pin = here && whereOf(room, floor, planBy) === 'placed' ? pinOf(room) : null;
    if (!pin) return [];
    const state = roomState(jobs, stoppedIn(day, room.id));
    const word = say(`room-state.${state}`, { left });
    const mine = holds(day.holders.get(room.id), person);
    const who = mine ? say('today.mine') : (day.holders.get(room.id) ?? []).map(({ who }) => who).join(', ');
    const label = room.facets.identity?.number || titleOf(room);
    const more = say('today.pin-more', { name: titleOf(room), who, left, all: fixtures });
    return [
      {
        id: room.id,
        ...pin,
        label,
        word,
        look: mine ? LOOKS[state] : 'quiet',
        name: `${label} ${word}: ${more}`,
      },
    ];
  });
}

/** Nothing where the floor has no plan, or none of the day's rooms has its place on it. @param {{site: Site, day: Day, floor: string}} props */
export function PlanOfDay({ site, day, floor }) {
  const pins = pinsOfDay(day, floor, store.person);
  if (pins.length === 0) return null;
  return html`<${FloorPlan} site=${site} floor=${floor} pins=${pins} onPin=${(/** @type {string} */ room) => navigate(roomPath(site.id, room))} />`;
}
