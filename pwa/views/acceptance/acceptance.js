// The acceptance of a building: room by room what is open and who signed; a floor or the whole site can be signed at once.

import { facet } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Mark, Row } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { newestSigned, readAcceptance } from './reading.js';

/** @typedef {import('./reading.js').Read} Read */
/** @typedef {import('./reading.js').RoomRead} RoomRead */

/** @param {{site: Site}} props */
export function Acceptance({ site }) {
  const read = useLive(() => readAcceptance(site), [site.id]);
  return html`<${Page} title=${say('acceptance.title')} over=${site.name} back=${`/s/${site.id}/today`} site=${site.id}>
    ${read && (read.rooms.length === 0 ? html`<p class="notice">${say('acceptance.nothing')}</p>` : html`<${Shown} site=${site} read=${read} />`)}
  <//>`;
}

/** Address of the walk through a room, floor or the site. @param {Site} site @param {string} subject */
export const walkPath = (site, subject) => `/s/${site.id}/accept/${subject}`;

/** @param {{site: Site, read: Read}} props */
function Shown({ site, read }) {
  const open = read.rooms.reduce((all, room) => all + room.open, 0);
  return html`
    <p>${say('acceptance.about')}</p>
    <p class="measure strong">${open === 0 ? say('acceptance.none-open') : counted(open, 'open-point')}</p>
    ${read.floors.map((floor) => html`<${Floor} key=${floor.id} site=${site} read=${read} floor=${floor} />`)}
    <section class="stack" aria-label=${say('acceptance.covers.site')}>
      <h2>${say('acceptance.covers.site')}</h2>
      <ul class="rows">
        <${Row} href=${walkPath(site, site.id)} title=${say('acceptance.sign-site')} end=${html`<${SignedMark} signed=${newestSigned(read.survey, site.id)} />`} />
      </ul>
    </section>`;
}

/** @param {{site: Site, read: Read, floor: RecordView<'floor'>}} props */
function Floor({ site, read, floor }) {
  const rooms = read.rooms.filter(({ room }) => room.parent === floor.id);
  return html`<section class="stack" aria-label=${titleOf(floor)}>
    <h2>${titleOf(floor)}</h2>
    <ul class="rows">
      ${rooms.map((each) => html`<${RoomRow} key=${each.room.id} site=${site} read=${each} />`)}
      <${Row} href=${walkPath(site, floor.id)} title=${say('acceptance.sign-floor', { floor: titleOf(floor) })}
        end=${html`<${SignedMark} signed=${newestSigned(read.survey, floor.id)} />`} />
    </ul>
  </section>`;
}

/** @param {{site: Site, read: RoomRead}} props */
export function RoomRow({ site, read: { room, open, signed } }) {
  return html`<${Row} href=${walkPath(site, room.id)} title=${titleOf(room)}
    end=${html`<span class="marks">
      <${Mark} look=${open === 0 ? 'done' : 'attention'}>${open === 0 ? say('acceptance.none-open') : counted(open, 'open-point')}<//>
      <${SignedMark} signed=${signed} />
    </span>`} />`;
}

/** Whether it is signed, and whether anything has changed since. @param {{signed: import('./reading.js').Signed | undefined}} props */
export function SignedMark({ signed }) {
  if (!signed) return null;
  if (signed.was.length + signed.now.length > 0)
    return html`<${Mark} look="attention">${say('acceptance.changed-since')}<//>`;
  return html`<${Mark} look="done">${say('acceptance.signed-by', { name: facet(signed.record, 'identity').name })}<//>`;
}
