// The work that is left in shifts of one crew, week by week, and the same as a calendar.

import { useState } from 'preact/hooks';
import { ShortList, ToReleases } from '../releases/short_list.js';
import { changeText } from '../../crew/standing_notice.js';
import { html } from '../../html.js';
import { dayText } from '../../numbers.js';
import { Caution, Mark, Problem } from '../../parts/parts.js';
import { hoursText } from '../../parts/work_hours.js';
import { dayOf } from '../../today/days.js';
import { counted, say } from '../../words.js';
import { Fold } from '../fold.js';
import { Answer, Desk, useServer } from '../parts.js';
import { WeekPicture } from './week_picture.js';

/** @typedef {{room: string, room_name: string, floor_name: string, fixtures: number, at: number, begins: string, minutes: number, platform: boolean, part: number, parts: number, hours: Hours | null, stopped: number}} RoomOfShift */
/** @typedef {import('../../parts/work_hours.js').Hours} Hours */
/** A room that no shift finds open. @typedef {{room: string, room_name: string, floor_name: string, fixtures: number, hours: Hours}} ClosedRoom */
/** A group that must not be converted for now. @typedef {{group: string, room: string, room_name: string, floor_name: string, mark: string, fixtures: number, changes: Array<import('../../../rules/since_release/seen.js').Change>}} StoppedGroup */
/** @typedef {{day: string, minutes: number, platforms: string[], circuits: string[], rooms: RoomOfShift[]}} Shift */
/** @typedef {{days: number, idle_days: number, platform_days: number, isolations: number}} Cost */
/** @typedef {{begins: string, minutes: number, people: number, shifts: Shift[], closed: ClosedRoom[], stopped: StoppedGroup[], cost: Cost, in_order: Cost, pace: {basis: string, pct: number, fixtures: number}, without_minutes: number}} Schedule */
/** How a crew works, as typed. @typedef {{from: string, people: string, begins: string, hours: string, weekdays: string, crew: string}} Asked */

const MINUTES = 60;
const BEGINS = '07:00';
const DAY_MS = 86_400_000;
const WEEK = ['1', '2', '3', '4', '5', '6', '7'];

/**
 * The first day on which a shift can still begin.
 *
 * @param {Date} now @param {string} begins as '07:00'
 */
export function firstDay(now, begins) {
  const [hours, minutes] = begins.split(':').map(Number);
  const isOver = now.getHours() * MINUTES + now.getMinutes() > hours * MINUTES + minutes;
  return dayOf(new Date(now.getFullYear(), now.getMonth(), now.getDate() + (isOver ? 1 : 0)));
}

/** @param {{site: Site}} props */
export function ScheduleScreen({ site }) {
  const [asked, setAsked] = useState(
    /** @type {Asked} */ ({
      from: firstDay(new Date(), BEGINS),
      people: '2',
      begins: BEGINS,
      hours: '8',
      weekdays: '12345',
      crew: '',
    }),
  );
  const query = queryOf(asked);
  return html`<${Desk} site=${site} at="/schedule" title=${say('place.schedule')}>
    <p>${say('schedule.about')}</p>
    <${Fold} title=${say('schedule.how', { day: asked.from ? dayText(asked.from) : '–', ...asked })}><${How} asked=${asked} onChange=${setAsked} /><//>
    ${query ? html`<${Told} site=${site} query=${query} />` : html`<${Problem} error=${{ code: 'schedule.wrong' }} />`}
  <//>`;
}

/** @param {Asked} asked @returns {string | null} null: it cannot be asked so */
function queryOf({ from, people, begins, hours, weekdays, crew }) {
  const [size, minutes] = [Number(people), Math.round(Number(hours) * MINUTES)];
  if (
    !from ||
    !begins ||
    !weekdays ||
    !Number.isInteger(size) ||
    size < 1 ||
    !(minutes >= 30 && minutes <= 1440)
  )
    return null;
  return String(
    new URLSearchParams({
      from,
      people: String(size),
      begins,
      minutes: String(minutes),
      weekdays,
      ...(crew.trim() && { crew: crew.trim() }),
    }),
  );
}

/** @param {{asked: Asked, onChange: (asked: Asked) => void}} props */
function How({ asked, onChange }) {
  /** @param {keyof Asked} name @param {string} type */
  const field = (name, type, isNumber = type === 'text') =>
    html`<label class="field"><span class="label">${say(`schedule.${name}`)}</span>
      <input type=${type} inputmode=${isNumber ? 'decimal' : undefined} maxlength="60" value=${asked[name]} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...asked, [name]: event.currentTarget.value })} /></label>`;
  /** @param {string} day */
  const turn = (day) => {
    const on = asked.weekdays.includes(day) ? asked.weekdays.replace(day, '') : asked.weekdays + day;
    onChange({ ...asked, weekdays: [...on].sort().join('') });
  };
  return html`<section class="card" aria-label=${say('place.schedule')}>
    <div class="side-by-side">${field('from', 'date')}${field('people', 'text')}${field('begins', 'time')}${field('hours', 'text')}${field('crew', 'text', false)}</div>
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
    <section class="card" aria-label=${say('schedule.comes-to', inDays(told.cost))}>
      <p class="strong">${say('schedule.comes-to', inDays(told.cost))}</p>
      ${told.cost.idle_days > 0 && html`<p>${say('schedule.idle', { days: counted(told.cost.idle_days, 'day') })}</p>`}
      <p class="muted">${say('schedule.in-order', inDays(told.in_order))}</p>
      <p class="muted small">${say(`schedule.pace-${told.pace.basis}`, told.pace)}</p>
      ${told.without_minutes > 0 && html`<p class="notice">${say('schedule.without', { fixtures: told.without_minutes })}</p>`}
      <a class="button" href=${`/api/sites/${site.id}/schedule.ics?${query}`} download>${say('schedule.ics')}</a>
      <p class="muted small">${say('schedule.ics-about')}</p>
    </section>
    ${told.stopped.length > 0 && html`<${StoppedGroups} site=${site} groups=${told.stopped} />`}
    ${told.closed.length > 0 && html`<${Closed} site=${site} rooms=${told.closed} />`}
    <${Caution}>${say('schedule.caution')}<//>
    ${weeksOf(told.shifts).map(([monday, shifts]) => html`<${Week} key=${monday} site=${site} monday=${monday} shifts=${shifts} most=${told.minutes} />`)}`}<//>`;
}

/** @param {Cost} cost */
const inDays = ({ days, platform_days: platform, isolations }) => ({
  days: counted(days, 'day'),
  platform_days: counted(platform, 'day'),
  isolations,
});

/** '7 h 13 min'. @param {number} minutes */
function timeOf(minutes) {
  const [hours, rest] = [Math.floor(minutes / MINUTES), minutes % MINUTES];
  return [hours > 0 && `${hours} h`, (rest > 0 || hours === 0) && `${rest} min`].filter(Boolean).join(' ');
}

/** Rooms that are in no shift, for they are closed then. @param {{site: Site, rooms: ClosedRoom[]}} props */
function Closed({ site, rooms }) {
  return html`<section class="card" aria-label=${say('schedule.closed')}>
    <p class="notice">${say('schedule.closed')}</p>
    <ul class="rows">${rooms.map(
      ({ room, room_name: name, floor_name: floor, fixtures, hours }) =>
        html`<li key=${room}><a class="row" href=${`/s/${site.id}/room/${room}`}>${say('schedule.closed-room', { room: name, floor, fixtures: counted(fixtures, 'fixture'), hours: hoursText(hours) })}</a></li>`,
    )}</ul>
  </section>`;
}

/** Groups that are in no shift, for they are stopped: which, why, and the way to where that is settled. @param {{site: Site, groups: StoppedGroup[]}} props */
function StoppedGroups({ site, groups }) {
  const fixtures = groups.reduce((sum, each) => sum + each.fixtures, 0);
  return html`<section class="notice bad stack" aria-label=${say('desk.stopped-released')}>
    <p class="strong" role="alert">${say('schedule.stopped', { fixtures: counted(fixtures, 'fixture'), groups: counted(groups.length, 'group') })}</p>
    <${ShortList} lines=${groups.map((each) => ({ id: each.group, text: say('schedule.stopped-group', { room: each.room_name, floor: each.floor_name, mark: each.mark, fixtures: counted(each.fixtures, 'fixture'), changes: each.changes.map((change) => changeText(site, change)).join('; ') }) }))} />
    <${ToReleases} site=${site} />
  </section>`;
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
  const title = say('schedule.shift', {
    day: dayText(shift.day),
    time: timeOf(shift.minutes),
    all: timeOf(most),
  });
  return html`<li class="row-text">
    <span class="strong">${title}</span>
    <ul class="rows">${shift.rooms.map(
      (each) =>
        html`<li key=${`${each.room} ${each.at}`}><a class="row" href=${`/s/${site.id}/room/${each.room}`}><span>${say('schedule.room', { at: each.begins, room: each.room_name, fixtures: counted(each.fixtures, 'fixture'), time: timeOf(each.minutes) })}${each.parts > 1 && ` (${say('schedule.part', each)})`}</span>
          ${each.stopped > 0 && html`<span class="marks"><${Mark} look="attention">${say('schedule.stopped-here', { fixtures: counted(each.stopped, 'fixture') })}<//></span>`}
          ${each.hours && html`<span class="detail">${say('schedule.allowed', { hours: hoursText(each.hours) })}</span>`}</a></li>`,
    )}</ul>
    ${shift.platforms.length > 0 && html`<span class="detail">${say('schedule.platforms', { floors: shift.platforms })}</span>`}
    ${shift.circuits.length > 0 && html`<span class="detail">${say('schedule.circuits', { circuits: shift.circuits })}</span>`}
  </li>`;
}
