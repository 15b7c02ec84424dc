// The rooms of a floor in walk order, as a strip that scrolls sideways.

import { useEffect, useRef } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { titleOf } from '../places.js';
import { inWalkOrder } from '../survey.js';

/** @param {{site: any, room: any}} props */
export function RoomStrip({ site, room }) {
  const rooms = useLive(
    () => (room.parent ? site.children(room.parent, 'room') : Promise.resolve([])),
    [room.parent],
  );
  const here = useRef(/** @type {HTMLAnchorElement | null} */ (null));
  useEffect(
    () => here.current?.scrollIntoView({ block: 'nearest', inline: 'center' }),
    [room.id, rooms === undefined],
  );
  if (!rooms || rooms.length < 2) return null;
  return html`<nav class="strip" aria-label="Rooms of this floor">
    ${inWalkOrder(rooms).map((each) => {
      const current = each.id === room.id;
      return html`<a key=${each.id} ref=${current ? here : null} href=${`/s/${site.id}/room/${each.id}`} aria-current=${current ? 'page' : null}>
        <span>${each.facets.identity?.number || titleOf(each)}</span>
        <span class="muted small">${each.facets.progress?.progress ?? 'not visited'}</span>
      </a>`;
    })}
  </nav>`;
}
