// What changed in how one signs in: told at the next sign-in until it is read, for there is no mail.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';
import { nameOf } from './phone_text.js';

/** @typedef {import('../../store/store.js').SignInChange} SignInChange */

export const CHANGES_AT = '/api/me/changes';
const BY_COMMAND = /by-command$/;

/** @param {SignInChange} change */
function where({ what, phone, kind, copies, this: here }) {
  if (BY_COMMAND.test(what)) return say('changed.where.command');
  if (what === 'second_factor.take_off') return say('changed.where.owner');
  if (!phone || !kind) return say('changed.where.unknown');
  return say(`changed.where.${here ? 'this-' : ''}${kind}`, { name: nameOf({ id: phone, kind, copies }) });
}

/** @param {SignInChange} change */
export const changeText = (change) =>
  say(`changed.${change.what}`, { when: timeText(change.at), where: where(change) });

/** What is new, with what to do about it; nothing where there is none. @param {{onRead?: () => void, go?: string}} props what the button says */
export function NewChanges({ onRead, go }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const changes = store.changes;
  if (changes.length === 0) return null;
  const read = async () => {
    setError(null);
    try {
      await askServer(CHANGES_AT, { method: 'POST' });
      store.changesRead();
      onRead?.();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="notice stack" aria-label=${say('changed.title')}>
    <h2>${say('changed.title')}</h2>
    <${ListOfChanges} changes=${changes} />
    <p>${say('changed.not-you')}</p>
    <${Problem} error=${error} />
    <button type="button" class="button main" onClick=${read}>${go ?? say('changed.read')}</button>
  </section>`;
}

/** @param {{changes: SignInChange[]}} props */
export const ListOfChanges = ({ changes }) =>
  html`<ul class="rows">${changes.map((each) => html`<li class="row-text" key=${each.at + each.what}>${changeText(each)}</li>`)}</ul>`;
