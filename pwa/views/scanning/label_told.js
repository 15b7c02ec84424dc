// What is the matter with a label that leads to no fixture: void, blank, another site's, or not known.

import { spaced } from '../../rules/codes.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { choosePath, labelPath } from './find_label.js';

/** @typedef {import('./find_label.js').LabelState} LabelState */
/** @typedef {{id: string, name: string}} Other the site on which it is known */

/** @param {{site: {id: string, name: string}, code: string, found: LabelState, other?: Other | null, here?: boolean}} props `here`: on the label's own screen */
export function LabelTold({ site, code, found, other, here = false }) {
  if (found.state === 'void') return html`<${Void} site=${site} code=${code} found=${found} here=${here} />`;
  if (found.state === 'removed') return html`<${Removed} code=${code} found=${found} />`;
  if (found.state === 'unknown' && other) {
    return html`<p role="alert">${say('label.other-site', { code: spaced(code), site: other.name, here: site.name })}</p>
      <a class="button main" href=${labelPath(other.id, code)}>${say('label.open-it-there', { site: other.name })}</a>`;
  }
  return html`<p role="alert">${say(found.state === 'blank' ? 'label.blank' : 'label.code-unknown', { code: spaced(code) })}</p>
    <a class="button main" href=${choosePath(site.id, code, found.state === 'blank')}>${say('crew.choose-the-fixture')}</a>`;
}

/** @param {{site: {id: string}, code: string, found: Extract<LabelState, {state: 'void'}>, here: boolean}} props */
function Void({ site, code, found: { reason, path, place, others }, here }) {
  const now = others.map(spaced).join(', ');
  return html`<p role="alert">${say('label.void', { code: spaced(code), reason })}</p>
    ${place && html`<p>${others.length > 0 ? say('label.void-replaced', { place, others: now }) : say('label.void-was-on', { place })}</p>`}
    ${path && html`<a class="button main" href=${path}>${say('label.show-fixture')}</a>`}
    ${!here && html`<a class="button" href=${labelPath(site.id, code)}>${say('label.about-this', { code: spaced(code) })}</a>`}`;
}

/** The fixture as it was last: whoever stands below it may have to do with something that is on mains. @param {{code: string, found: Extract<LabelState, {state: 'removed'}>}} props */
function Removed({ code, found: { path, place, converted } }) {
  return html`<p role="alert">${say('crew.label-removed', { code: spaced(code), place })}</p>
    <p>${say(converted ? 'crew.removed-converted' : 'crew.removed-not-converted')}</p>
    <p class="notice">${say('crew.removed-caution')}</p>
    ${converted && html`<a class="button main" href=${path}>${say('crew.removed-fitted')}</a>`}`;
}
