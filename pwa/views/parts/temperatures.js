// Where a temperature that keeps a group from being planned is entered: the site's settings, or its room alone.

import { html } from '../html.js';
import { mayWrite } from '../record_screens.js';
import { say } from '../words.js';

/** What cannot be told of a bar, a driver or a sensor without the coldest or the hottest air. */
const LACKS = /^plan\.(bar|driver|sensor)[.-](cold|heat|temperature)\.cannot-tell$/;
/** Of an emergency pack the catalogue may lack its own limit instead. */
const PACK_LACKS = /^plan\.pack\.(cold|heat)\.cannot-tell$/;
const OF_PLACE = /of the room and the site$/;

/**
 * Whether a temperature of the room or the site is what is lacking.
 *
 * @param {{code: string, facts?: Facts}} because
 */
export function lacksTemperature({ code, facts }) {
  if (LACKS.test(code)) return true;
  const missing = /** @type {string[]} */ (facts?.missing ?? []);
  return PACK_LACKS.test(code) && missing.some((each) => OF_PLACE.test(each));
}

/** The ways there, for who may enter it. @param {{site: Site, room: string | null}} props `room`: its id */
export function WhereTemperatures({ site, room }) {
  const ofSite = mayWrite(site, 'site', 'settings');
  const ofRoom = room && mayWrite(site, 'room', 'surroundings');
  return html`<div class="row-text side-by-side">
    ${ofSite && html`<a class="button" href=${`/s/${site.id}/desk/settings`}>${say('desk.temperatures-of-the-site')}</a>`}
    ${ofRoom && html`<a class="button" href=${`/s/${site.id}/record/${room}/surroundings`}>${say('desk.temperatures-of-the-room')}</a>`}
  </div>`;
}
