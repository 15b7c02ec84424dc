// Closing a room: what is still open in it and who can close that, then on to the next one. It never blocks.

import { useState } from 'preact/hooks';
import { judgeGroup } from '../../rules/judging/judging.js';
import { lookingForPoints } from '../../rules/points/open_points.js';
import { store } from '../../store/store.js';
import { gently } from '../gently.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { tellSaved } from '../parts/just_saved.js';
import { OpenPoint } from '../parts/open_point.js';
import { Problem } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { nextNumber } from '../rooms/room_numbers.js';
import { counted, say } from '../words.js';
import { isFinished } from './next_room.js';

/** @typedef {import('../../rules/points/open_points.js').OpenPoint} Point */
/** Where one goes from a room, and what that is called. @typedef {{path: string, title: string}} Onward */

/** What another group of a kind was judged to be is not asked here. @type {Judgement} */
const NOT_ASKED = /** @type {Judgement} */ (/** @type {unknown} */ ({ fits: [], best: null, questions: {} }));

/**
 * The room that follows: the next one on the floor that is not finished, else a new one with the next number.
 *
 * @param {Site} site @param {RecordView<'room'>} room @param {RecordView<'room'>[]} beside rooms of its floor as one walks, itself too
 * @returns {Onward}
 */
export function onwardFrom(site, room, beside) {
  const at = beside.findIndex(({ id }) => id === room.id);
  const next = [...beside.slice(at + 1), ...beside.slice(0, Math.max(at, 0))].find(
    (each) => !isFinished(each),
  );
  if (next) return { path: `/s/${site.id}/room/${next.id}`, title: titleOf(next) };
  const number = nextNumber(
    room.facets.identity?.number,
    beside.map((each) => each.facets.identity?.number),
  );
  return {
    path: `/s/${site.id}/floor/${room.parent}/add?after=${room.id}`,
    title: say('survey.new-room', { number }).trim(),
  };
}

/**
 * What stays open in a room once it is called surveyed, judged as on the screens of its groups.
 *
 * @param {Site} site @param {RecordView<'room'>} room @param {() => boolean} [wanted] whether anybody still looks
 * @returns {Promise<Point[]>} none where nobody looks any more
 */
export async function stillOpen(site, room, wanted) {
  const closed = { ...room, facets: { ...room.facets, progress: { progress: 'surveyed' } } };
  const records = await recordsFor(site, room);
  /** @type {typeof judgeGroup} */
  const judge = (...given) => (given[2].id === room.id ? judgeGroup(...given) : NOT_ASKED);
  const all = [...records.filter(({ id }) => id !== room.id), closed];
  const kinds = new Set((await site.children(room.id, 'group')).map(({ facets }) => facets.identity?.kind));
  const points = await gently(lookingForPoints(all, {}, store.tables.reference, judge), wanted);
  return (points ?? []).filter(
    (point) => point.room === room.id || (point.room === null && kinds.has(point.record)),
  );
}

/** The room with all that its open points hang on: its groups, their kinds, and the readings of those elsewhere. @param {Site} site @param {RecordView<'room'>} room @returns {Promise<RecordView[]>} */
async function recordsFor(site, room) {
  const [own, floor, panels, bars, below] = await Promise.all([
    site.get(site.id),
    site.get(room.parent ?? ''),
    site.all('panel'),
    site.all('catalogue_item'),
    site.children(room.id),
  ]);
  const kindIds = [...new Set(below.flatMap(({ facets }) => facets.identity?.kind ?? []))];
  const kinds = await Promise.all(kindIds.map((id) => site.get(id)));
  const alike = (await Promise.all(kindIds.map((id) => site.referring(id, 'group')))).flat();
  const here = below.filter(({ type }) => type === 'group');
  const under = await Promise.all(
    [...new Set([...alike, ...here].map(({ id }) => id))].map((id) => site.children(id)),
  );
  const found = [room, own, floor, ...panels, ...bars, ...below, ...kinds, ...alike, ...under.flat()];
  const records = /** @type {RecordView[]} */ (found.filter(Boolean));
  return [...new Map(records.map((record) => [record.id, record])).values()];
}

/**
 * At the foot of a room: add a group, or close it and be in the next one.
 *
 * @param {{site: Site, room: RecordView<'room'>, beside: RecordView<'room'>[], add: Child}} props
 */
export function RoomActs({ site, room, beside, add }) {
  const [points, setPoints] = useState(/** @type {Point[] | null} */ (null));
  const [looking, setLooking] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const onward = onwardFrom(site, room, beside);
  const close = async () => {
    try {
      const value = { progress: 'surveyed' };
      await site.save([
        { record: room.id, type: 'room', facet: 'progress', value, seen: room.seen.progress ?? null },
      ]);
      await tellSaved(site, onward.path, say('survey.room-closed', { room: titleOf(room) }));
      navigate(onward.path);
    } catch (problem) {
      setError(problem);
    }
  };
  const ask = async () => {
    if (isFinished(room)) return navigate(onward.path);
    setLooking(true);
    const found = await stillOpen(site, room).catch((problem) => {
      setError(problem);
      return /** @type {Point[]} */ ([]);
    });
    setLooking(false);
    if (found.length === 0) return close();
    return setPoints(found);
  };
  if (points)
    return html`<section class="closing stack" aria-label=${say('survey.before-it-closes')}>
      <p class="strong">${say('survey.still-open-here', { points: counted(points.length, 'open-point') })}</p>
      <ul class="rows">${points.map((point) => html`<${OpenPoint} key=${`${point.rule} ${point.record}`} point=${point} site=${site} />`)}</ul>
      <${Problem} error=${error} />
      <div class="two-acts">
        <button type="button" class="button" onClick=${() => setPoints(null)}>${say('survey.stay-here')}</button>
        <button type="button" class="button main" onClick=${close}>${say('survey.close-and-next', { room: onward.title })}</button>
      </div>
    </section>`;
  const words = isFinished(room) ? 'survey.on-to' : 'survey.close-and-next';
  return html`<div class="two-acts">
      ${add}
      <button type="button" class="button" disabled=${looking} onClick=${ask}>${say(words, { room: onward.title })}</button>
    </div>
    <${Problem} error=${error} />`;
}
