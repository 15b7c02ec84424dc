// The work that is left in shifts of one crew, week by week, and the same as a calendar.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { dayText } from '../../numbers.js';
import { Caution, Problem } from '../../parts/parts.js';
import { dayOf } from '../../today/days.js';
import { counted, say } from '../../words.js';
import { Answer, Desk, useServer } from '../parts.js';
import { WeekPicture } from './week_picture.js';

/** @typedef {{room: string, room_name: string, floor_name: string, fixtures: number, minutes: number, platform: boolean, part: number, parts: number}} RoomOfShift */
/** @typedef {{day: string, minutes: number, platforms: string[], circuits: string[], rooms: RoomOfShift[]}} Shift */
/** @typedef {{days: number, platform_days: number, isolations: number}} Cost */
/** @typedef {{begins: string, minutes: number, people: number, shifts: Shift[], cost: Cost, in_order: Cost, pace: {basis: string, pct: number, fixtures: number}, without_minutes: number}} Schedule */
/** How a crew works, as typed. @typedef {{from: string, people: string, begins: string, hours: string, weekdays: string}} Asked */

const MINUTES = 60;
const DAY_MS = 86_400_000;
const WEEK = ['1', '2', '3', '4', '5', '6', '7'];

/** @param {{site: Site}} props */
export function ScheduleScreen({ site }) {
  const [asked, setAsked] = useState(
    /** @type {Asked} */ ({
      from: dayOf(new Date()),
      people: '2',
      begins: '07:00',
      hours: '8',
      weekdays: '12345',
    }),
  );
  const query = queryOf(asked);
  return html`<${Desk} site=${site} at="/schedule" title=${say('place.schedule')}>
    <p>${say('schedule.about')}</p>
    <${How} asked=${asked} onChange=${setAsked} />
    ${query ? html`<${Told} site=${site} query=${query} />` : html`<${Problem} error=${{ code: 'schedule.wrong' }} />`}
  <//>`;
}

/** @param {Asked} asked @returns {string | null} null: it cannot be asked so */
function queryOf({ from, people, begins, hours, weekdays }) {
  const [crew, minutes] = [Number(people), Math.round(Number(hours) * MINUTES)];
  if (
    !from ||
    !begins ||
    !weekdays ||
    !Number.isInteger(crew) ||
    crew < 1 ||
    !(minutes >= 30 && minutes <= 1440)
  )
    return null;
  return String(
    new URLSearchParams({ from, people: String(crew), begins, minutes: String(minutes), weekdays }),
  );
}

/** @param {{asked: Asked, onChange: (asked: Asked) => void}} props */
function How({ asked, onChange }) {
  /** @param {keyof Asked} name @param {string} type */
  const field = (name, type) =>
    html`<label class="field"><span class="label">${say(`schedule.${name}`)}</span>
      <input type=${type} inputmode=${type === 'text' ? 'decimal' : undefined} value=${asked[name]} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...asked, [name]: event.currentTarget.value })} /></label>`;
  /** @param {string} day */
  const turn = (day) => {
    const on = asked.weekdays.includes(day) ? asked.weekdays.replace(day, '') : asked.weekdays + day;
    onChange({ ...asked, weekdays: [...on].sort().join('') });
  };
  return html`<section class="card" aria-label=${say('place.schedule')}>
    <div class="side-by-side">${field('from', 'date')}${field('people', 'text')}${field('begins', 'time')}${field('hours', 'text')}</div>
    <fieldset class="plain-set"><legend class="strong">${say('schedule.weekdays')}</legend>
      <div class="side-by-side">${WEEK.map((day) => html`<label class="chip" key=${day}><input type="checkbox" checked=${asked.weekdays.includes(day)} onChange=${() => turn(day)} /><span>${say(`schedule.day-${day}`)}</span></label>`)}</div>
    </fieldset>
  </section>`;
}

/** @param {{site: Site, query: string}} props */
function Told({ site, query }) {
  const answer = /** @type {import('../parts.js').Answered<Schedule>} */ (
    useServer(`/api/sites/${site.id}/schedule?${query}`, [])
  );
  return html`<${Answer} answer=${answer}>${(/** @type {Schedule} */ told) => html`
    <section class="card" aria-label=${say('schedule.comes-to', told.cost)}>
      <p class="strong">${say('schedule.comes-to', told.cost)}</p>
      <p class="muted">${say('schedule.in-order', told.in_order)}</p>
      <p class="muted small">${say(`schedule.pace-${told.pace.basis}`, told.pace)}</p>
      ${told.without_minutes > 0 && html`<p class="notice">${say('schedule.without', { fixtures: told.without_minutes })}</p>`}
      <a class="button" href=${`/api/sites/${site.id}/schedule.ics?${query}`} download>${say('schedule.ics')}</a>
    </section>
    <${Caution}>${say('schedule.caution')}<//>
    ${weeksOf(told.shifts).map(([monday, shifts]) => html`<${Week} key=${monday} site=${site} monday=${monday} shifts=${shifts} most=${told.minutes} />`)}`}<//>`;
}

/** @param {Shift[]} shifts @returns {Array<[string, Shift[]]>} by their Mondays */
function weeksOf(shifts) {
  /** @type {Map<string, Shift[]>} */
  const found = new Map();
  for (const shift of shifts) {
    const at = new Date(`${shift.day}T00:00:00Z`);
    const monday = new Date(at.getTime() - ((at.getUTCDay() + 6) % 7) * DAY_MS).toISOString().slice(0, 10);
    found.set(monday, [...(found.get(monday) ?? []), shift]);
  }
  return [...found];
}

/** A week, as a picture and day by day. @param {{site: Site, monday: string, shifts: Shift[], most: number}} props */
function Week({ site, monday, shifts, most }) {
  const title = say('schedule.week', { day: dayText(monday) });
  return html`<section class="card" aria-label=${title}>
    <h2>${title}</h2>
    <${WeekPicture} title=${title} shifts=${shifts} most=${most} />
    ${shifts.some(({ platforms }) => platforms.length > 0) && html`<p class="muted small">${say('schedule.filled')}</p>`}
    <ul class="rows">${shifts.map((shift) => html`<${Day} key=${shift.day} site=${site} shift=${shift} most=${most} />`)}</ul>
  </section>`;
}

/** @param {{site: Site, shift: Shift, most: number}} props */
function Day({ site, shift, most }) {
  const title = say('schedule.shift', { day: dayText(shift.day), minutes: shift.minutes, all: most });
  return html`<li class="row-text">
    <span class="strong">${title}</span>
    <ul class="rows">${shift.rooms.map(
      (each) =>
        html`<li key=${each.room}><a class="row" href=${`/s/${site.id}/room/${each.room}`}><span>${say('schedule.room', { room: each.room_name, fixtures: counted(each.fixtures, 'fixture'), minutes: each.minutes })}${each.parts > 1 && ` (${say('schedule.part', each)})`}</span></a></li>`,
    )}</ul>
    ${shift.platforms.length > 0 && html`<span class="detail">${say('schedule.platforms', { floors: shift.platforms })}</span>`}
    ${shift.circuits.length > 0 && html`<span class="detail">${say('schedule.circuits', { circuits: shift.circuits })}</span>`}
  </li>`;
}
