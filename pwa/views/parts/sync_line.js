// One line at the foot of every screen: what is not sent yet, and what is in the way.

import { store } from '../../store/store.js';
import { useStatus } from '../hooks.js';
import { html } from '../html.js';
import { say } from '../words.js';

/** @param {import('../../sync/engine.js').Status} status @returns {string} */
export function lineText(status) {
  const waiting = status.unsent + status.photos;
  const told = say(`line.${status.state}`, {
    waiting,
    unsent: status.unsent,
    photos: status.photos,
    attention: status.attention,
  });
  const why = status.why && status.state !== 'offline' ? ` ${say(status.why, {})}` : '';
  const numbers =
    waiting > 0 && ['offline', 'failing', 'signed-out', 'needs-attention'].includes(status.state);
  return told + why + (numbers ? ` ${say('line.waiting', { waiting })}` : '');
}

/** @param {{site: string | null}} props */
export function SyncLine({ site }) {
  const status = useStatus();
  const waits = store.update !== null;
  return html`<footer class="sync-line" data-state=${status.state} data-unsent=${status.unsent + status.photos}>
    <p role="status">${store.outdated ? say('line.outdated') : lineText(status)}</p>
    <div class="side-by-side">
      ${store.outdated && html`<button class="button" onClick=${() => location.reload()}>Load again</button>`}
      ${waits && html`<button class="button" onClick=${() => store.update?.activate()}>Update</button>`}
      ${action(status, site)}
    </div>
  </footer>`;
}

/** @param {import('../../sync/engine.js').Status} status @param {string | null} site */
function action(status, site) {
  if (status.state === 'signed-out') return html`<a class="button" href="/sign-in">Sign in</a>`;
  if (status.state === 'needs-attention' && site)
    return html`<a class="button" href=${`/s/${site}/unsent`}>Look</a>`;
  if (status.state === 'sent' || status.state === 'sending') return null;
  return html`<button class="button" onClick=${() => store.syncNow()}>Send now</button>`;
}
