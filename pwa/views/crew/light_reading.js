// Light before and after at a marked point: of a room, or under one fixture. What is made of it is not here.

import { useState } from 'preact/hooks';
import { grid } from '../../rules/light/light_grid.js';
import { TICKS_PER_MM } from '../../rules/measuring/lengths.js';
import { keep, kept } from '../../store/kept.js';
import { ownName } from '../drafts.js';
import { checkField } from '../forms/field_checks.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { FieldInput } from '../inputs/fields.js';
import { byOrder } from '../newest.js';
import { numberText } from '../numbers.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { choiceText, say, timeText } from '../words.js';

const TYPE = 'lux_reading';
const ASKED = ['point', 'when', 'lux', 'instrument', 'calibrated', 'lamps', 'daylight', 'note'];
/** What stays for the next reading: the instrument in use, and how the room is. */
const STAYS = /** @type {const} */ (['instrument', 'calibrated', 'lamps', 'daylight']);
const INSTRUMENT = 'light-instrument';
const A = 65;
const LETTERS = 26;

/** @typedef {ValueOf<'lux_reading', 'identity'>} Reading */

/** The screen of one room. @param {{site: Site, params: {room: string}}} props */
export function LightOfRoom({ site, params }) {
  const room = useLive(async () => (await site.get(params.room)) ?? null, [site.id, params.room]);
  const back = `/s/${site.id}/room/${params.room}`;
  if (room === undefined) return null;
  if (room === null)
    return html`<${Page} title=${say('light.title')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  return html`<${Page} title=${say('light.title')} over=${titleOf(room)} back=${back} site=${site.id} look="form">
    <${Light} site=${site} room=${/** @type {RecordView<'room'>} */ (room)} />
  <//>`;
}

/** Folded below a card. @param {{site: Site, room: RecordView<'room'>, group: string, position: number}} props */
export function LightAtFixture({ site, room, group, position }) {
  const [open, setOpen] = useState(false);
  return html`<details class="card" onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpen(event.currentTarget.open)}>
    <summary class="turn">${say('light.title')}</summary>
    ${open && html`<${Light} site=${site} room=${room} group=${group} position=${position} />`}
  </details>`;
}

/** @param {{site: Site, room: RecordView<'room'>, group?: string, position?: number}} props */
function Light({ site, room, group, position }) {
  const readings = useLive(() => site.children(room.id, TYPE), [room.id]);
  if (!readings) return null;
  const points = pointsOf(readings);
  return html`<div class="stack">
    ${points.length > 0 && html`<ul class="rows" aria-label=${say('light.readings')}>${points.map((each) => html`<${Point} key=${each.point} point=${each} />`)}</ul>`}
    ${mayWrite(site, TYPE) && html`<${Form} key=${room.id} site=${site} room=${room} points=${points} at=${{ group, position }} />`}
  </div>`;
}

/** @typedef {{point: string, before?: RecordView<'lux_reading'>, after?: RecordView<'lux_reading'>}} PointRead */

/** Each point with its newest reading before and after. @param {RecordView<'lux_reading'>[]} readings @returns {PointRead[]} */
export function pointsOf(readings) {
  /** @type {Map<string, PointRead>} */
  const found = new Map();
  for (const each of [...readings].sort(byOrder)) {
    const { point = '', when = 'before' } = each.facets.identity ?? {};
    found.set(point, { ...(found.get(point) ?? { point }), [when]: each });
  }
  return [...found.values()].sort((a, b) => a.point.localeCompare(b.point, undefined, { numeric: true }));
}

/** @param {{point: PointRead}} props */
function Point({ point: { point, before, after } }) {
  const told = [before, after].filter((each) => each !== undefined);
  return html`<li class="notice">
    <p class="strong">${point}</p>
    ${told.map((each) => html`<p key=${each.id} class="measure">${readingText(each)}</p>`)}
  </li>`;
}

/** @param {RecordView<'lux_reading'>} reading */
function readingText({ facets, at }) {
  const { when, lux = 0, instrument, read_at, note } = facets.identity ?? {};
  const time = timeText(read_at ?? at.identity ?? '');
  return [`${choiceText(when)}: ${numberText(lux, 0, 1)} lx`, instrument, time, note]
    .filter(Boolean)
    .join(', ');
}

/** The next to read: where a point has a 'before' alone, its 'after'. @param {PointRead[]} points @param {{group?: string, position?: number}} at @returns {Partial<Reading>} */
const firstOf = (points, { position }) => {
  const open = position === undefined ? undefined : points.find(({ before, after }) => before && !after);
  const instrument = kept(INSTRUMENT);
  const stays = typeof instrument === 'string' ? { instrument } : instrument;
  return { ...(open && { point: open.point, when: 'after' }), ...stays };
};

/** @param {{site: Site, room: RecordView<'room'>, points: PointRead[], at: {group?: string, position?: number}}} props */
function Form({ site, room, points, at }) {
  const draft = ownName(`light.${room.id}`);
  const { fields } = site.spec.records[TYPE].facets.identity;
  const [reading, setReading] = useState(
    /** @returns {Partial<Reading>} */ () => kept(draft) ?? firstOf(points, at),
  );
  const [wrong, setWrong] = useState(/** @type {Record<string, Reason | null>} */ ({}));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(0);
  /** @param {string} name @param {unknown} value @param {Reason | null} [unread] */
  const change = (name, value, unread) => {
    const next = { ...reading, [name]: value };
    setReading(next);
    setWrong({ ...wrong, [name]: unread ?? null });
    keep(draft, next);
  };
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const found = Object.fromEntries(
      ASKED.map((name) => [
        name,
        wrong[name] ?? checkField(fields[name], /** @type {Value} */ (reading)[name]),
      ]),
    );
    setWrong(found);
    setError(null);
    if (Object.values(found).some(Boolean)) return;
    try {
      await site.save([readingDraft(site, room.id, reading, at)]);
      const stays = Object.fromEntries(STAYS.map((name) => [name, reading[name]]));
      keep(INSTRUMENT, stays);
      keep(draft, undefined);
      setReading({ when: reading.when, ...stays, ...(at.group ? {} : nextOf(room, points, reading)) });
      setSaved(saved + 1);
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<form class="stack" onSubmit=${submit} aria-label=${say('light.a-reading')} novalidate>
    <p class="muted small">${say('light.how')}</p>
    ${!at.group && html`<p class="muted small">${gridText(room)}</p>`}
    <p class="muted small">${say('light.emergency')}</p>
    ${ASKED.map(
      (
        name,
      ) => html`<${FieldInput} key=${`${name}-${saved}`} name=${name} field=${fields[name]} value=${/** @type {Value} */ (reading)[name]} problem=${wrong[name] ?? null}
        onChange=${(/** @type {unknown} */ value, /** @type {Reason | null} */ unread) => change(name, value, unread)} />`,
    )}
    <${Problem} error=${error} />
    <button class="button main">${say('light.save')}</button>
    ${saved > 0 && html`<${Saved} key=${saved} site=${site}>${say('light.saved')}<//>`}
  </form>`;
}

/** The grid of a room, where its sides are known. @param {RecordView<'room'>} room */
function gridOf(room) {
  const { length_ticks: length, width_ticks: width } = room.facets.size ?? {};
  return length && width ? grid(length / TICKS_PER_MM / 1000, width / TICKS_PER_MM / 1000) : null;
}

/** @param {RecordView<'room'>} room */
function gridText(room) {
  const found = gridOf(room);
  if (!found) return say('light.no-size');
  return say('light.grid', {
    along: found.along,
    across: found.across,
    cell: numberText(found.cell_m, 1, 2),
  });
}

/**
 * The next point: after, one that was read before and not since; before, the next of the grid in rows A, B, ….
 * @param {RecordView<'room'>} room @param {PointRead[]} points before what was just saved @param {Partial<Reading>} last
 * @returns {Partial<Reading>}
 */
export function nextOf(room, points, last) {
  const isRead = (/** @type {PointRead} */ each) => each.point === last.point || each[last.when ?? 'before'];
  if (last.when === 'after') {
    const open = points.find((each) => each.before && !isRead(each));
    return open ? { point: open.point } : {};
  }
  const found = gridOf(room);
  const read = new Set(
    points
      .filter(isRead)
      .map(({ point }) => point)
      .concat(last.point ?? ''),
  );
  const next = found && pointsOfGrid(found).find((point) => !read.has(point));
  return next ? { point: next } : {};
}

/** Names of the points of a grid, row by row: A1, A2, …; none where there are more rows than letters. @param {{along: number, across: number}} grid */
const pointsOfGrid = ({ along, across }) =>
  across > LETTERS
    ? []
    : Array.from(
        { length: along * across },
        (_, at) => `${String.fromCharCode(A + Math.floor(at / along))}${(at % along) + 1}`,
      );

/** @param {Site} site @param {string} room @param {Partial<Reading>} reading @param {{group?: string, position?: number}} at @returns {Draft} */
function readingDraft(site, room, reading, { group, position }) {
  const told = Object.fromEntries(Object.entries(reading).filter(([, value]) => value !== undefined));
  const under = group ? { group, position } : {};
  const value = { parent: room, ...told, ...under, read_at: new Date().toISOString() };
  return { record: site.newId(), type: TYPE, facet: 'identity', value, seen: null };
}
