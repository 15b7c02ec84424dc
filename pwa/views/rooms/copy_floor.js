// The rooms of a floor once more on a new one, their numbers shifted; proposed, corrected, then made in one go.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { isTaken, roomDrafts } from './made_rooms.js';
import { judgedOn, Preview } from './preview.js';
import { readFloor } from './reading.js';
import { nextName, proposedShift, shifted } from './room_numbers.js';

/** @typedef {Awaited<ReturnType<typeof readFloor>>} FloorRead */

/** @param {{site: Site, params: {floor: string}}} props */
export function CopyFloor({ site, params }) {
  const read = useLive(() => readFloor(site, params.floor), [params.floor]);
  if (!read) return null;
  const back = `/s/${site.id}/floors/${params.floor}`;
  return html`<${Page} title=${say('rooms.copy')} over=${read.floor ? titleOf(read.floor) : ''} back=${back} site=${site.id} look="form">
    ${read.floor ? html`<${Form} site=${site} read=${read} floor=${read.floor} />` : html`<${NotHere} site=${site} />`}
  <//>`;
}

/** The rooms of the floor with their numbers shifted. @param {RecordView<'room'>[]} rooms @param {{from: string, to: string}} shift */
const copiesOf = (rooms, { from, to }) =>
  rooms.map(({ facets }) => ({
    number: shifted(facets.identity?.number ?? '', from, to),
    name: facets.identity?.name ?? '',
    space: facets.identity?.space_type,
  }));

/** @param {{site: Site, read: FloorRead, floor: RecordView<'floor'>}} props */
function Form({ site, read, floor }) {
  const [name, setName] = useState(() => nextName(titleOf(floor)));
  const [shift, setShift] = useState(() =>
    proposedShift(read.rooms.map((room) => room.facets.identity?.number ?? '')),
  );
  const [rooms, setRooms] = useState(() => copiesOf(read.rooms, shift));
  const [made, setMade] = useState(/** @type {{name: string, rooms: number} | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const judged = judgedOn(site, rooms, read.used, read.floors);
  const taken = rooms.filter((room, place) => isTaken(room, judged[place]));
  /** @param {Partial<{from: string, to: string}>} change */
  const shiftBy = (change) => {
    const next = { ...shift, ...change };
    setShift(next);
    setRooms(copiesOf(read.rooms, next));
  };
  const make = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setError(null);
    if (!name.trim()) return setError({ code: 'rooms.floor-name-missing', facts: {} });
    const record = site.newId();
    const order = floor.facets.identity?.order;
    const identity = { parent: site.id, name: name.trim(), ...(order !== undefined && { order: order + 1 }) };
    try {
      await site.save([
        { record, type: 'floor', facet: 'identity', value: identity, seen: null },
        ...roomDrafts(taken, record, 0, () => site.newId()),
      ]);
      setMade({ name: name.trim(), rooms: taken.length });
    } catch (problem) {
      setError(problem);
    }
  };
  if (made)
    return html`<${Saved} site=${site}>${say('rooms.made', { rooms: counted(made.rooms, 'room'), floor: made.name })}<//>
      <a class="button main" href=${`/s/${site.id}`}>${say('rooms.back-home')}</a>`;
  /** @param {'from' | 'to'} field */
  const input = (
    field,
  ) => html`<div class="field"><label for=${`shift-${field}`}>${say(`rooms.${field}`)}</label>
    <input id=${`shift-${field}`} class="measure" autocomplete="off" autocapitalize="off" value=${shift[field]}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => shiftBy({ [field]: event.currentTarget.value })} /></div>`;
  return html`<form class="stack" onSubmit=${make} novalidate>
    <p class="muted">${say('rooms.copy-about')}</p>
    <div class="field"><label for="new-floor">${say('rooms.new-floor')}</label>
      <input id="new-floor" autocomplete="off" maxlength="80" value=${name} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setName(event.currentTarget.value)} /></div>
    <div class="two-fields">${input('from')}${input('to')}</div>
    <h2>${say('rooms.preview')}</h2>
    ${taken.length < rooms.length && html`<p role="status">${say('rooms.left-out', { rooms: counted(rooms.length - taken.length, 'room') })}</p>`}
    <${Preview} rooms=${rooms} judged=${judged} onChange=${setRooms} />
    <${Problem} error=${error} />
    <button class="button main wide">${say('rooms.make-floor', { floor: name.trim() || '…', rooms: counted(taken.length, 'room') })}</button>
  </form>`;
}
