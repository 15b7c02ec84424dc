// A walk with the customer through a room, a floor or the site: what is open, what was closed, and the signature.

import { isOpen } from '../../rules/installing/punch_list.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { NotHeard, useHeard } from '../parts/when_heard.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { RoomRow } from './acceptance.js';
import { AddPoint } from './add_point.js';
import { PunchPoint } from './punch_point.js';
import { readWalk } from './reading.js';
import { SignForm } from './sign_form.js';
import { SignedBefore, WhatIsSigned } from './signed.js';

/** @typedef {import('./reading.js').WalkRead} WalkRead */

/** @param {{params: {subject: string}, site: Site}} props */
export function Walk({ params, site }) {
  const read = useLive(() => readWalk(site, params.subject), [params.subject]);
  const title = read ? titleOf(read.subject) : say('acceptance.title');
  return html`<${Page} title=${title} over=${say('acceptance.title')} back=${`/s/${site.id}/accept`} site=${site.id} look="form">
    ${read === null && html`<p class="notice">${say('sign.not-here')}</p>`}
    ${read && html`<${Shown} site=${site} read=${read} />`}
  <//>`;
}

/** @param {{site: Site, read: WalkRead}} props */
function Shown({ site, read }) {
  const { subject, rooms, shown } = read;
  const isRoom = subject.type === 'room';
  // What is signed is told whole, or not yet.
  const heard = useHeard(site);
  return html`
    <${NotHeard} site=${site} />
    ${isRoom ? html`<${PointsOfRoom} site=${site} read=${read} />` : html`<${Rooms} site=${site} read=${read} />`}
    ${read.signed.map((each) => html`<${SignedBefore} key=${each.record.id} site=${site} survey=${read.survey} signed=${each} />`)}
    ${
      rooms.length > 0 &&
      html`<${WhatIsSigned} survey=${read.survey} shown=${shown} short=${!isRoom} />
        ${heard && mayWrite(site, 'acceptance') && html`<${SignForm} key=${subject.id} site=${site} subject=${subject.id} shown=${shown} />`}`
    }
    ${rooms.length === 0 && html`<p class="notice">${say('acceptance.nothing')}</p>`}`;
}

/** @param {{site: Site, read: WalkRead}} props */
function Rooms({ site, read }) {
  return html`<section class="stack" aria-label=${say('acceptance.rooms')}>
    <h2>${say('acceptance.rooms')}</h2>
    <ul class="rows">${read.rooms.map((each) => html`<${RoomRow} key=${each.room.id} site=${site} read=${each} />`)}</ul>
  </section>`;
}

/** @param {{site: Site, read: WalkRead}} props */
function PointsOfRoom({ site, read: { rooms, subject, survey } }) {
  const points = rooms[0]?.points ?? [];
  const [open, closed] = [points.filter(isOpen), points.filter((point) => !isOpen(point))];
  return html`
    <section class="stack" aria-label=${say('acceptance.open-points')}>
      <h2>${say('acceptance.open-points')}</h2>
      ${
        open.length === 0
          ? html`<p class="notice">${say('acceptance.none-open')}</p>`
          : html`<ul class="punch-points">${open.map((point) => html`<${PunchPoint} key=${point.key} site=${site} survey=${survey} point=${point} />`)}</ul>`
      }
      ${mayWrite(site, 'punch_point') && html`<${AddPoint} site=${site} room=${subject.id} />`}
    </section>
    ${
      closed.length > 0 &&
      html`<section class="stack" aria-label=${say('acceptance.closed-points')}>
        <h2>${say('acceptance.closed-points')}</h2>
        <ul class="punch-points">${closed.map((point) => html`<${PunchPoint} key=${point.key} site=${site} survey=${survey} point=${point} />`)}</ul>
      </section>`
    }`;
}
