// When a room may be worked in, in words: on the schedule, and where a crew stands before it.

import { html } from '../html.js';
import { choiceText, say } from '../words.js';

/** When a room may be worked in. @typedef {{days: string[], begins: string, ends: string}} Hours */

const NAMES = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'];

/** Days of the week, three and more in a row by the first and the last: 'Monday to Friday, Sunday'. @param {string[]} days in their order */
export function daysText(days) {
  const runs = /** @type {string[][]} */ ([]);
  for (const day of days) {
    const run = runs.at(-1);
    if (run && NAMES.indexOf(day) === NAMES.indexOf(run[run.length - 1]) + 1) run.push(day);
    else runs.push([day]);
  }
  return runs
    .flatMap((run) =>
      run.length < 3
        ? run.map(choiceText)
        : [say('schedule.day-to-day', { from: run[0], to: run[run.length - 1] })],
    )
    .join(', ');
}

/** @param {Hours} hours */
export function hoursText({ days, begins, ends }) {
  const on = days.length === 0 ? say('schedule.any-day') : daysText(days);
  const midnight = say('schedule.midnight');
  const at =
    begins || ends
      ? say('schedule.hours-from-to', { begins: begins || midnight, ends: ends || midnight })
      : say('schedule.at-any-hour');
  return `${on} ${at}`;
}

/** Hours of a room, with what its floor answers for it; null where nobody said any. @param {RecordView<'room'> | undefined} room @returns {Hours | null} */
export function hoursOf(room) {
  const { days = [], begins = '', ends = '' } = room?.facets.work_hours ?? {};
  return days.length > 0 || begins || ends ? { days, begins, ends } : null;
}

/** What a crew reads before it begins: the room may be closed now. @param {{room: RecordView<'room'> | undefined}} props */
export function WorkAllowed({ room }) {
  const hours = hoursOf(room);
  return hours && html`<p class="notice">${say('schedule.allowed', { hours: hoursText(hours) })}</p>`;
}
