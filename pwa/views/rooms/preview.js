// Rooms before they are made: each can be corrected, ticked or left out; what is wrong stands beside it.

import { html } from '../html.js';
import { titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { isTaken, judgedRooms } from './made_rooms.js';

/** @typedef {import('./made_rooms.js').RoomToMake} RoomToMake */

/**
 * @param {Site} site @param {RoomToMake[]} rooms @param {Map<string, RecordView<'room'>[]>} used @param {RecordView<'floor'>[]} floors
 */
export function judgedOn(site, rooms, used, floors) {
  const { fields } = site.spec.records.room.facets.identity;
  const most = { number: fields.number.max ?? 0, name: fields.name.max ?? 0 };
  const floorOf = new Map(floors.map((floor) => [floor.id, titleOf(floor)]));
  return judgedRooms(rooms, used, most, (room) =>
    [titleOf(room), floorOf.get(room.parent ?? '')].filter(Boolean).join(', '),
  );
}

/** @param {{rooms: RoomToMake[], judged: ReturnType<typeof judgedRooms>, onChange: (rooms: RoomToMake[]) => void}} props */
export function Preview({ rooms, judged, onChange }) {
  /** @param {number} place @param {Partial<RoomToMake>} change */
  const change = (place, change) =>
    onChange(rooms.map((room, each) => (each === place ? { ...room, ...change } : room)));
  return html`<ol class="preview" aria-label=${say('rooms.preview')}>
    ${rooms.map((room, place) => html`<${Line} key=${place} room=${room} place=${place + 1} judged=${judged[place]} onChange=${(/** @type {Partial<RoomToMake>} */ next) => change(place, next)} />`)}
  </ol>`;
}

/** @param {{room: RoomToMake, place: number, judged: ReturnType<typeof judgedRooms>[number], onChange: (change: Partial<RoomToMake>) => void}} props */
function Line({ room, place, judged, onChange }) {
  const { told, cannot } = judged;
  const text = (/** @type {'number' | 'name'} */ field) => (/** @type {EventOf<HTMLInputElement>} */ event) =>
    onChange({ [field]: event.currentTarget.value });
  return html`<li class="field">
    <div class="preview-line">
      <label class="preview-take"><input type="checkbox" aria-label=${say('rooms.take', { place })} checked=${isTaken(room, judged)} disabled=${cannot}
        onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ take: event.currentTarget.checked })} /></label>
      <input class="measure" aria-label=${say('rooms.number-of', { place })} value=${room.number} autocomplete="off" aria-invalid=${told ? 'true' : 'false'}
        aria-describedby=${told ? `wrong-${place}` : undefined} onInput=${text('number')} />
      <input aria-label=${say('rooms.name-of', { place })} value=${room.name} autocomplete="off" onInput=${text('name')} />
    </div>
    ${told && html`<p class="problem small" id=${`wrong-${place}`}>${say(told.code, told.facts)}</p>`}
  </li>`;
}
