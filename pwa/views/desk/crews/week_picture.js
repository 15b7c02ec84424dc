// A week of shifts as a picture: a line a day, a block a room as long as its work; what needs a platform is filled.

import { html } from '../../html.js';
import { dayText } from '../../numbers.js';
import { say } from '../../words.js';

/** @typedef {import('./schedule.js').Shift} Shift */
/** @typedef {import('./schedule.js').RoomOfShift} RoomOfShift */

const [WIDTH, DAY, ROW, BLOCK] = [340, 44, 36, 28];
/** So wide a block has to be for its name. */
const NAMED = 26;

/** Blocks of a day, one after the other. @param {Shift} shift @param {number} most minutes of a shift @returns {Array<{room: RoomOfShift, x: number, width: number}>} */
export function blocksOf(shift, most) {
  const scale = (WIDTH - DAY) / most;
  let begun = 0;
  return shift.rooms.map((room) => {
    const x = DAY + begun * scale;
    begun += room.minutes;
    return { room, x, width: room.minutes * scale };
  });
}

/** What a room is called in a block: its number, which stands first. @param {string} name */
const short = (name) => name.split(' ')[0];

/** @param {{title: string, shifts: Shift[], most: number}} props */
export function WeekPicture({ title, shifts, most }) {
  const height = shifts.length * ROW;
  const told = shifts
    .map(({ day, rooms }) => `${dayText(day)}: ${rooms.map(({ room_name: name }) => name).join(', ')}.`)
    .join(' ');
  return html`<svg class="picture" viewBox=${`0 0 ${WIDTH} ${height}`} role="img" aria-label=${`${title}. ${told}`}>
    ${shifts.map(
      (shift, place) => html`<g key=${shift.day}>
      <text x="0" y=${place * ROW + BLOCK - 8}>${say(`schedule.short-${weekday(shift.day)}`)}</text>
      <line class="axis" x1=${DAY} x2=${WIDTH} y1=${place * ROW + BLOCK} y2=${place * ROW + BLOCK} />
      ${blocksOf(shift, most).map(
        ({ room, x, width }) => html`<g key=${room.room}>
        <rect class=${room.platform ? 'swing' : 'block'} x=${x + 1} y=${place * ROW + 2} width=${Math.max(1, width - 2)} height=${BLOCK - 2} />
        ${width >= NAMED && html`<text class=${room.platform ? 'in-block filled' : 'in-block'} x=${x + width / 2} y=${place * ROW + BLOCK - 9} text-anchor="middle">${short(room.room_name)}</text>`}
      </g>`,
      )}
    </g>`,
    )}
  </svg>`;
}

/** Monday is 1. @param {string} day */
const weekday = (day) => ((new Date(`${day}T00:00:00Z`).getUTCDay() + 6) % 7) + 1;
