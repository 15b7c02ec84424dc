// Which part of a long list is in view.

import { html } from '../html.js';
import { numberText } from '../numbers.js';
import { say } from '../words.js';

/**
 * Which part of a long list is in view, and the parts before and after it: a large site's list is never in the page as a whole.
 *
 * @param {{total: number, from: number, size: number, onFrom: (from: number) => void}} props `from`: how many are passed over
 */
export function Window({ total, from, size, onFrom }) {
  if (total <= size) return null;
  const to = Math.min(from + size, total);
  const go = (/** @type {number} */ at) => (/** @type {EventOf<HTMLButtonElement>} */ event) => {
    event.currentTarget.closest('details, section')?.scrollIntoView({ block: 'start' });
    onFrom(at);
  };
  return html`<div class="side-by-side">
    <p class="measure">${say('page.window', { from: numberText(from + 1), to: numberText(to), total: numberText(total) })}</p>
    ${from > 0 && html`<button type="button" class="button" onClick=${go(Math.max(0, from - size))}>${say('page.window-before', { number: numberText(Math.min(size, from)) })}</button>`}
    ${to < total && html`<button type="button" class="button" onClick=${go(to)}>${say('page.window-next', { number: numberText(Math.min(size, total - to)) })}</button>`}
  </div>`;
}
