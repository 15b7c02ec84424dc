// To a room by its number, from the top of the walk.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Row } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { sameNumber } from '../rooms/room_numbers.js';
import { say } from '../words.js';

const MOST = 6;

/**
 * Rooms whose number begins with what is typed: that very number first, then as one walks.
 *
 * @template {ViewRecord<'room'>} R @param {R[]} walk @param {string} typed @returns {R[]}
 */
export function roomsAt(walk, typed) {
  const wanted = sameNumber(typed);
  if (!wanted) return [];
  /** @param {R} room */
  const number = (room) => sameNumber(room.facets.identity?.number);
  const found = walk.filter((room) => number(room).startsWith(wanted));
  return [
    ...found.filter((room) => number(room) === wanted),
    ...found.filter((room) => number(room) !== wanted),
  ];
}

/** @param {{site: Site, walk: RecordView<'room'>[]}} props */
export function Jump({ site, walk }) {
  const [typed, setTyped] = useState('');
  const found = roomsAt(walk, typed);
  const go = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (found.length > 0) navigate(`/s/${site.id}/room/${found[0].id}`);
  };
  return html`<form class="stack" role="search" onSubmit=${go}>
    <div class="field">
      <label for="jump">${say('survey.to-room-number')}</label>
      <div class="unit-beside">
        <input id="jump" autocomplete="off" autocapitalize="characters" enterkeyhint="go" value=${typed} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setTyped(event.currentTarget.value)} />
        <button class="button" disabled=${found.length === 0}>${say('survey.go-there')}</button>
      </div>
    </div>
    ${typed.trim() && found.length === 0 && html`<p class="muted small" role="status">${say('survey.no-such-number', { number: typed.trim() })}</p>`}
    ${found.length > 0 && html`<ul class="rows">${found.slice(0, MOST).map((room) => html`<${Row} key=${room.id} href=${`/s/${site.id}/room/${room.id}`} title=${titleOf(room)} end="→" />`)}</ul>`}
  </form>`;
}
