// How far a report or a pack is that is being made: asked of the server, whichever of its processes makes it.

import { askServer } from '../../store/desk.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { number } from './parts.js';

/** Steps done, and of how many. @typedef {{done: number, of: number}} Far */

const LOOK_MS = 1000;

/** Ask how far it is for as long as it is being made; what ends it. @param {Site} site @param {string} asked @param {(far: Far) => void} onTold @returns {() => void} */
export function watch(site, asked, onTold) {
  const look = () =>
    askServer(`/api/sites/${site.id}/handover/progress?asked=${asked}`).then(
      (told) => onTold(/** @type {Far} */ (told)),
      () => {}, // Whether it is made the answer itself says.
    );
  const timer = setInterval(look, LOOK_MS);
  return () => clearInterval(timer);
}

/** @param {{far: Far | null}} props */
export function HowFar({ far }) {
  if (!far || far.of === 0) return null;
  return html`<p class="measure">${say('handover.progress', { done: number(far.done), of: number(far.of) })}</p>
    <progress max=${far.of} value=${far.done} aria-label=${say('handover.making')}></progress>`;
}
