// Several rooms at once, from a range, a list or pasted columns; seen before they are made, taken back in one go.

import { useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
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
import { readRooms } from './room_numbers.js';

/** @typedef {Awaited<ReturnType<typeof readFloor>>} FloorRead */

/** @param {{site: Site, params: {floor: string}}} props */
export function SeveralRooms({ site, params }) {
  const read = useLive(() => readFloor(site, params.floor), [params.floor]);
  if (!read) return null;
  const back = `/s/${site.id}/floors/${params.floor}`;
  return html`<${Page} title=${say('rooms.several')} over=${read.floor ? titleOf(read.floor) : ''} back=${back} site=${site.id} look="form">
    ${read.floor ? html`<${Form} site=${site} read=${read} floor=${read.floor} />` : html`<${NotHere} site=${site} />`}
  <//>`;
}

/** @param {{site: Site, read: FloorRead, floor: RecordView<'floor'>}} props */
function Form({ site, read, floor }) {
  const draft = draftOf(site.id, `${floor.id}.rooms`);
  const [text, setText] = useState(() => draft.at ?? '');
  const [told, setTold] = useState(() => readRooms(text));
  const [rooms, setRooms] = useState(/** @type {import('./made_rooms.js').RoomToMake[]} */ (told.rooms));
  const [made, setMade] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const judged = judgedOn(site, rooms, read.used, read.floors);
  const taken = rooms.filter((room, place) => isTaken(room, judged[place]));
  /** @param {string} typed */
  const type = (typed) => {
    const next = readRooms(typed);
    setText(typed);
    if (typed) draft.keep(typed);
    else draft.forget();
    setTold(next);
    setRooms(next.rooms);
    setMade(0);
  };
  const make = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setError(null);
    try {
      await site.save(roomDrafts(taken, floor.id, read.last, () => site.newId()));
      const count = taken.length;
      type('');
      setMade(count);
    } catch (problem) {
      setError(problem);
    }
  };
  const doubled = rooms.length - taken.length;
  return html`<form class="stack" onSubmit=${make} novalidate>
    ${
      made > 0 &&
      html`<${Saved} site=${site} key=${made}>${say('rooms.made', { rooms: counted(made, 'room'), floor: titleOf(floor) })}<//>
      <a class="button wide" href=${`/s/${site.id}`}>${say('rooms.back-home')}</a>`
    }
    <div class="field">
      <label for="rooms">${say('rooms.what')}</label>
      <textarea id="rooms" autocomplete="off" autocapitalize="off" spellcheck="false" rows="4" value=${text} aria-describedby="rooms-help"
        onInput=${(/** @type {EventOf<HTMLTextAreaElement>} */ event) => type(event.currentTarget.value)}></textarea>
      <p class="help" id="rooms-help">${say('rooms.what-help')}</p>
      ${told.problems.map(({ line, code, facts }) => html`<p class="problem" role="alert" key=${line}>${say('rooms.line', { line, told: { code, facts } })}</p>`)}
    </div>
    ${
      rooms.length === 0
        ? html`<p class="muted">${say('rooms.none-typed')}</p>`
        : html`<h2>${say('rooms.preview')}</h2>
      ${doubled > 0 && html`<p role="status">${say('rooms.left-out', { rooms: counted(doubled, 'room') })}</p>`}
      <${Preview} rooms=${rooms} judged=${judged} onChange=${setRooms} />
      <${Problem} error=${error} />
      <button class="button main wide" disabled=${taken.length === 0}>${say('rooms.make', { rooms: counted(taken.length, 'room') })}</button>`
    }
  </form>`;
}
