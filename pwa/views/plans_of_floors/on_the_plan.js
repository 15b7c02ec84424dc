// The way from a room or a group to its place on the floor plan.

import { html } from '../html.js';
import { Row } from '../parts/parts.js';
import { say } from '../words.js';

/** @param {{site: Site, floor: string | null, id: string}} props `id`: of the room or group */
export function OnThePlan({ site, floor, id }) {
  if (!floor) return null;
  const from = encodeURIComponent(location.pathname);
  return html`<ul class="rows">
    <${Row} href=${`/s/${site.id}/plans/${floor}?place=${id}&from=${from}`} title=${say('floor-plan.on-the-plan')} detail=${say('floor-plan.on-the-plan-detail')} end="→" />
  </ul>`;
}
