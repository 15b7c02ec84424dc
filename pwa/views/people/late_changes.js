// What changed in the last three months in how one signs in, on one's own page.

import { store } from '../../store/store.js';
import { Answer, useServer } from '../desk/parts.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { CHANGES_AT, ListOfChanges } from './changes.js';

/** @typedef {import('../../store/store.js').SignInChange} SignInChange */

export function LateChanges() {
  const answer = /** @type {import('../desk/parts.js').Answered<{changes: SignInChange[]}>} */ (
    useServer(CHANGES_AT, [store.changes.length])
  );
  return html`<section class="card" aria-label=${say('changed.of-late')}>
    <h2>${say('changed.of-late')}</h2>
    <${Answer} answer=${answer}>${(/** @type {{changes: SignInChange[]}} */ told) =>
      told.changes.length === 0
        ? html`<p class="muted">${say('changed.none')}</p>`
        : html`<${ListOfChanges} changes=${told.changes} />`}<//>
  </section>`;
}
