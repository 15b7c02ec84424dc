// The rooms of a floor in walk order, as a strip that scrolls sideways.

import { useEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { titleOf } from '../places.js';
import { inWalkOrder } from '../surveying/survey.js';
import { choiceText, say } from '../words.js';
import { moveInList } from './beside.js';

/** Its rooms come with the screen: a strip that came after it would push all else down. @param {{site: Site, room: RecordView<'room'>, rooms: RecordView<'room'>[]}} props */
export function RoomStrip({ site, room, rooms }) {
  const here = useRef(/** @type {HTMLAnchorElement | null} */ (null));
  useEffect(() => here.current?.scrollIntoView({ block: 'nearest', inline: 'center' }), [room.id]);
  if (rooms.length < 2) return null;
  return html`<nav class="strip" aria-label=${say('page.rooms-of-this-floor')} onKeyDown=${moveInList}>
    ${inWalkOrder(rooms).map((each) => {
      const current = each.id === room.id;
      return html`<a key=${each.id} ref=${current ? here : null} href=${`/s/${site.id}/room/${each.id}`} aria-current=${current ? 'page' : null}>
        <span>${each.facets.identity?.number || titleOf(each)}<span class="name">${each.facets.identity?.number && ` ${each.facets.identity.name ?? ''}`}</span></span>
        <span class="muted small">${choiceText(each.facets.progress?.progress ?? 'not-visited')}</span>
      </a>`;
    })}
  </nav>`;
}
