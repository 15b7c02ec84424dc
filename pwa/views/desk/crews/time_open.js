// How long something has been open, in words that a person counts in.

import { say } from '../../words.js';

const MS_A_MINUTE = 60_000;
const MINUTES_AN_HOUR = 60;
const HOURS_A_DAY = 24;

/** Whole minutes between two times; 0 where a phone's clock was ahead or a time is not known. @param {string} from @param {string} until */
export function minutesOpen(from, until) {
  const span = Date.parse(until) - Date.parse(from);
  return Number.isFinite(span) ? Math.max(0, Math.floor(span / MS_A_MINUTE)) : 0;
}

/** @param {number} minutes @returns {string} */
export function openText(minutes) {
  const hours = Math.floor(minutes / MINUTES_AN_HOUR);
  if (hours < 1) return say('problems.minutes', { minutes });
  if (hours < 2 * HOURS_A_DAY) return say('problems.hours', { hours, minutes: minutes % MINUTES_AN_HOUR });
  return say('problems.days', { days: Math.floor(hours / HOURS_A_DAY), hours: hours % HOURS_A_DAY });
}
