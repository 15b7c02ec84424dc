// A code on this screen that signs one in on a second phone: shown once, until it is used or has run out.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';
import { QrCode } from './link_card.js';

const ASK_AGAIN_MS = 2000;

export function SecondPhone() {
  const [made, setMade] = useState(/** @type {EnrolmentMade | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const show = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    setError(null);
    const told = new FormData(/** @type {HTMLFormElement} */ (event.currentTarget));
    const body = { password: told.get('password') };
    try {
      setMade(await askServer('/api/me/enrolments', { method: 'POST', body }));
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="card" aria-label=${say('phones.second')}>
    <h2>${say('phones.second')}</h2>
    ${
      made
        ? html`<${Code} key=${made.id} made=${made} onDone=${() => setMade(null)} />`
        : html`<form class="stack" onSubmit=${show}>
      <p>${say('phones.second-about')}</p>
      <input name="username" autocomplete="username" value=${store.person?.name} readonly hidden />
      <div class="field"><label for="enrolment-password">${say('phones.second-password')}</label>
        <input id="enrolment-password" name="password" type="password" required autocomplete="current-password" /></div>
      <${Problem} error=${error} />
      <button class="button">${say('phones.second-show')}</button>
    </form>`
    }
  </section>`;
}

/** @param {{made: EnrolmentMade, onDone: () => void}} props */
function Code({ made, onDone }) {
  const state = useStateOf(made);
  const putAway = () => {
    if (state === 'open') askServer(`/api/me/enrolments/${made.id}`, { method: 'DELETE' }).catch(() => {});
    onDone();
  };
  if (state !== 'open')
    return html`<p role="status" class="strong">${say(`phones.second-${state}`)}</p>
    <button type="button" class="button" onClick=${onDone}>${say('phones.second-again')}</button>`;
  return html`<div class="stack link-card" role="group" aria-label=${say('phones.second-title')}>
    <p>${say('phones.second-how', { time: timeText(made.expires_at) })} ${say('phones.second-warning')}</p>
    <${QrCode} rows=${made.qr} />
    <div class="field"><label for="enrolment-link">${say('people.link-address')}</label>
      <input id="enrolment-link" class="measure" readonly value=${made.address} onFocus=${(/** @type {EventOf<HTMLInputElement>} */ event) => event.currentTarget.select()} /></div>
    <button type="button" class="button" onClick=${putAway}>${say('phones.second-done')}</button>
  </div>`;
}

/** What has become of a code, asked for now and then while it may still be used. @param {EnrolmentMade} made */
function useStateOf(made) {
  const [state, setState] = useState(/** @type {'open' | 'used' | 'expired'} */ ('open'));
  useEffect(() => {
    if (state !== 'open') return undefined;
    const asking = setInterval(() => {
      askServer(`/api/me/enrolments/${made.id}`).then(
        (told) => {
          const now = /** @type {{state: 'open' | 'used' | 'expired'}} */ (told).state;
          setState(now);
          // The list of one's phones has one more.
          if (now === 'used') store.refresh();
        },
        // Without a signal it is asked again.
        () => {},
      );
    }, ASK_AGAIN_MS);
    return () => clearInterval(asking);
  }, [made.id, state]);
  return state;
}
