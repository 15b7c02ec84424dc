// The other body of a pair on one ballast: named with its room and position, and done and undone with this one.

import { html } from '../html.js';
import { titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { fixturePath } from '../scanning/find_label.js';
import { fixtureOf } from './fixture_facts.js';

/** @typedef {'none' | 'ready' | 'missing'} PartnerState */

/**
 * Whether a fixture has a partner, and whether both can be done from here: a partner counts that is on this phone, has
 * a conversion, and has the same position.
 *
 * @param {GroupRead} read @param {number} position @returns {PartnerState}
 */
export function partnerState(read, position) {
  if (!read.conversion?.facets.identity?.frozen?.partner) return 'none';
  return read.partner?.conversion && read.partner.positions.includes(position) ? 'ready' : 'missing';
}

/** Whether this phone knows the partner's group, and that it has no such fixture. @param {GroupRead} read @param {number} position */
const isGone = ({ partner }, position) => partner !== null && !partner.positions.includes(position);

/** Kind, room and position of the partner, to be read. @param {GroupRead} read @param {number} position @returns {string} */
export function partnerName(read, position) {
  const frozen = /** @type {Card} */ (read.conversion?.facets.identity?.frozen);
  const { room, mark } = /** @type {CardPartner} */ (frozen.partner);
  const { partner } = read;
  return say('crew.partner-name', {
    mark: partner?.kind?.facets.identity?.mark ?? mark,
    room: partner?.room ? titleOf(partner.room) : room,
    position,
  });
}

/** @param {{site: Site, read: GroupRead, position: number}} props */
export function Partner({ site, read, position }) {
  const state = partnerState(read, position);
  if (state === 'none') return null;
  const name = partnerName(read, position);
  const last =
    state === 'ready' ? fixtureOf(/** @type {GroupOfPartner} */ (read.partner), position).newest : undefined;
  const { outcome, problem } = last?.facets.identity ?? {};
  return html`<section class="notice stack" aria-label=${say('crew.shared-ballast')}>
    <p>${say('crew.partner', { name })}</p>
    ${state === 'missing' && html`<p class="strong">${say(isGone(read, position) ? 'crew.partner-gone' : 'crew.partner-missing')}</p>`}
    ${outcome && html`<p>${say('crew.partner-told', { outcome, problem: problem ?? '' })}</p>`}
    ${state === 'ready' && html`<a class="button" href=${fixturePath(site.id, /** @type {GroupOfPartner} */ (read.partner).group.id, position)}>${say('crew.see', { name })}</a>`}
  </section>`;
}
