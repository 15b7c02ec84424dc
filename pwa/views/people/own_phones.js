// One's own phones: where one is signed in, what is not sent there, and signing out there.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { Answer, useServer } from '../desk/parts.js';
import { html } from '../html.js';
import { Mark, Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';
import { nameOf, unsentOf } from './phone_text.js';

export function OwnPhones() {
  const [turn, setTurn] = useState(0);
  const [said, setSaid] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const again = () => setTurn((before) => before + 1);
  // A second phone that came in just now stands in the list.
  useEffect(() => store.subscribe(again), []);
  const answer = /** @type {import('../desk/parts.js').Answered<{phones: OwnPhone[]}>} */ (
    useServer('/api/me/phones', [turn])
  );
  /** @param {string} path */
  const end = async (path) => {
    setError(null);
    try {
      await askServer(path, { method: 'DELETE' });
      setSaid(say('me.ended'));
    } catch (refused) {
      setError(refused);
    }
    again();
  };
  return html`<section class="stack" aria-label=${say('phones.yours')}>
    <h2>${say('phones.yours')}</h2>
    <p class="small muted">${say('phones.yours-about')}</p>
    <${Answer} answer=${answer}>${(/** @type {{phones: OwnPhone[]}} */ { phones }) => html`
      <ul class="rows">${phones.map((each) => html`<${OnePhone} key=${each.id} phone=${each} onEnd=${() => end(`/api/me/phones/${each.id}`)} />`)}</ul>
      ${phones.filter(({ sessions }) => sessions.length > 0).length > 1 && html`<button type="button" class="button" onClick=${() => end('/api/me/sessions')}>${say('me.end-others')}</button>`}`}<//>
    <${Problem} error=${error} />
    <span role="status">${said}</span>
  </section>`;
}

/** @param {{phone: OwnPhone, onEnd: () => void}} props */
function OnePhone({ phone, onEnd }) {
  const times = { signed_in: timeText(phone.signed_in_at), seen: timeText(phone.seen_at) };
  const name = nameOf(phone);
  const unsent = unsentOf(phone);
  const signedIn = phone.sessions.length > 0;
  return html`<li class="row-text" data-phone=${phone.id}>
    <span class="strong">${name} ${phone.this && html`<${Mark} look="done">${say('me.this-session')}<//>`} ${phone.shut_out && html`<${Mark}>${say('phones.is-shut-out')}<//>`}</span>
    <span class="detail">${say(`me.device.${phone.kind}`)}, ${say(signedIn ? 'phones.signed-in' : 'phones.signed-out', times)}</span>
    ${unsent && html`<span class="detail">${say('phones.not-sent', { unsent })}</span>`}
    ${signedIn && !phone.this && html`<span><button type="button" class="button" aria-label=${`${say('me.end')}: ${name}`} onClick=${onEnd}>${say('me.end')}</button></span>`}
  </li>`;
}
