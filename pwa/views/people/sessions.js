// Where one is signed in, and signing out there.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { Answer, useServer } from '../desk/parts.js';
import { html } from '../html.js';
import { Mark, Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';

/** @typedef {{id: string, device: string, created_at: string, seen_at: string, this: boolean}} OwnSession */

export function Sessions() {
  const [turn, setTurn] = useState(0);
  const [said, setSaid] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const answer = /** @type {import('../desk/parts.js').Answered<{sessions: OwnSession[]}>} */ (
    useServer('/api/me/sessions', [turn])
  );
  /** @param {string} [id] one of them; none: all others */
  const end = async (id) => {
    setError(null);
    try {
      await askServer(`/api/me/sessions${id ? `/${id}` : ''}`, { method: 'DELETE' });
      setSaid(say('me.ended'));
    } catch (refused) {
      setError(refused);
    }
    setTurn((before) => before + 1);
  };
  return html`<section class="stack" aria-label=${say('me.sessions')}>
    <h2>${say('me.sessions')}</h2>
    <${Answer} answer=${answer}>${(/** @type {{sessions: OwnSession[]}} */ { sessions }) => html`
      <ul class="rows">${sessions.map((each) => html`<${OneSession} key=${each.id} session=${each} onEnd=${() => end(each.id)} />`)}</ul>
      ${sessions.length > 1 && html`<button type="button" class="button" onClick=${() => end()}>${say('me.end-others')}</button>`}`}<//>
    <${Problem} error=${error} />
    <span role="status">${said}</span>
  </section>`;
}

/** @param {{session: OwnSession, onEnd: () => void}} props */
function OneSession({ session, onEnd }) {
  const times = { created: timeText(session.created_at), seen: timeText(session.seen_at) };
  const name = say(`me.device.${session.device}`);
  return html`<li class="row-text">
    <span class="strong">${name} ${session.this && html`<${Mark} look="done">${say('me.this-session')}<//>`}</span>
    <span class="detail">${say('me.session-seen', times)}</span>
    ${!session.this && html`<span><button type="button" class="button" aria-label=${`${say('me.end')}: ${name}, ${times.seen}`} onClick=${onEnd}>${say('me.end')}</button></span>`}
  </li>`;
}
