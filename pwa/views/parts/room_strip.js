// The rooms of a floor around the one that is shown, in walk order, as a strip that scrolls sideways; at a desk all of them.

import { useEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { titleOf } from '../record_screens.js';
import { choiceText, counted, say } from '../words.js';
import { moveInList, useBeside } from './beside.js';
import { around } from './around.js';

/** So many before the room, and so many after it, are one swipe away; a floor of a hundred and twenty is found on its own screen. */
const NEAR = 6;

/** Its rooms come with the screen: a strip that came after it would push all else down. @param {{site: Site, room: RecordView<'room'>, rooms: RecordView<'room'>[]}} props `rooms`: of its floor, in walk order */
export function RoomStrip({ site, room, rooms }) {
  const here = useRef(/** @type {HTMLAnchorElement | null} */ (null));
  const beside = useBeside();
  useEffect(() => here.current?.scrollIntoView({ block: 'nearest', inline: 'center' }), [room.id]);
  if (rooms.length < 2) return null;
  const near = beside ? rooms : around(rooms, ({ id }) => id === room.id, NEAR);
  return html`<nav class="strip" aria-label=${say('page.rooms-of-this-floor')} onKeyDown=${moveInList}>
    ${near.map((each) => {
      const current = each.id === room.id;
      return html`<a key=${each.id} ref=${current ? here : null} href=${`/s/${site.id}/room/${each.id}`} aria-current=${current ? 'page' : null}>
        <span>${each.facets.identity?.number || titleOf(each)}<span class="name">${each.facets.identity?.number && ` ${each.facets.identity.name ?? ''}`}</span></span>
        <span class="muted small">${choiceText(each.facets.progress?.progress ?? 'not-visited')}</span>
      </a>`;
    })}
    ${near.length < rooms.length && html`<a key="all" href=${`/s/${site.id}`}><span>${say('floor.all-rooms', { rooms: counted(rooms.length, 'room') })}</span><span class="muted small" aria-hidden="true">→</span></a>`}
  </nav>`;
}
