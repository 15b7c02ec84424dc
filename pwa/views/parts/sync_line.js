// One line at the foot of every screen: what is not sent yet, and what is in the way.

import { store } from '../../store/store.js';
import { useStatus } from '../hooks.js';
import { html } from '../html.js';
import { counted, say } from '../words.js';

/** Why nothing comes to who was taken off a site: what they send arrives all the same. */
const OFF_SITE = 'site-left';
/** Why nothing is sent where the sign-in has ended: it says so itself. */
const SIGNED_OUT = 'phone.signed-out';
/** States in which the numbers do not stand in the first sentence. */
const NUMBERS_APART = ['offline', 'failing', 'signed-out', 'needs-attention', 'storage-failing'];
/** What the line says where the storage fails: a form says the rest beside what was typed, and a sync had nothing typed. @type {Record<string, string>} */
const STORAGE_SAYS = {
  'storage-full': 'line.storage-full',
  'storage-lost': 'line.storage-lost',
  'storage-cleared': 'line.storage-cleared',
};

/**
 * @param {import('../../sync/engine.js').Status} status
 * @param {boolean} [updateWaits] a newer app is ready
 * @returns {string}
 */
export function lineText(status, updateWaits = false) {
  const { state, unsent, photos, attention, why, heard, gone = false } = status;
  const waiting = unsent + photos;
  const conflicts = counted(status.conflicts, 'conflict');
  const ofStorage = state === 'storage-failing' && why ? STORAGE_SAYS[why] : undefined;
  const first = ofStorage ?? (state === 'sending' && waiting === 0 ? 'line.fetching' : `line.${state}`);
  // Before the first pull 'all sent' would say of a site what nobody knows.
  if (state === 'sent' && !heard) return say('line.never-heard');
  return [
    state === 'conflict' && say(waiting > 0 ? 'line.unsent' : 'line.sent', { waiting }),
    !gone &&
      why !== OFF_SITE &&
      why !== SIGNED_OUT &&
      say(first, { waiting, unsent, photos, attention, conflicts }),
    why && !ofStorage && state !== 'offline' && say(gone ? 'gone.line' : why, {}),
    waiting > 0 && NUMBERS_APART.includes(state) && say('line.waiting', { waiting }),
    status.photosWait && say('line.photos-wait', { photos: counted(photos, 'photo') }),
    updateWaits && say('line.update-waiting'),
  ]
    .filter(Boolean)
    .join(' ');
}

/** Of who is not signed in nothing is known: nothing is said to be sent. @param {import('../../sync/engine.js').Status} status @param {boolean} waits */
function textNow(status, waits) {
  if (store.outdated) return say('line.outdated');
  if (store.person && store.opened.size + store.closed.size === 0) return say('line.no-site');
  return store.person ? lineText(status, waits) : say('phone.nobody-signed-in');
}

/** @param {{site: string | null}} props */
export function SyncLine({ site }) {
  const status = useStatus();
  const waits = store.update !== null;
  return html`<footer class="sync-line" data-state=${status.state} data-unsent=${status.unsent + status.photos}>
    <p role="status">${textNow(status, waits)}</p>
    <div class="side-by-side">
      ${store.outdated && html`<button class="button" onClick=${() => location.reload()}>${say('page.load-again')}</button>`}
      ${waits && html`<button class="button" onClick=${() => store.update?.activate()}>${say('page.update')}</button>`}
      ${action(status, site)}
    </div>
  </footer>`;
}

/** @param {import('../../sync/engine.js').Status} status @param {string | null} site */
function action(status, site) {
  if (status.state === 'signed-out')
    return html`<a class="button" href="/sign-in">${say('page.sign-in')}</a>`;
  const [gone] = store.gone();
  if (gone && status.gone)
    return html`<a class="button" href=${`/s/${gone.id}/deleted`}>${say('page.look')}</a>`;
  if (status.state === 'needs-attention' && site)
    return html`<a class="button" href=${`/s/${site}/unsent`}>${say('page.look')}</a>`;
  if (status.state === 'conflict' && site)
    return html`<a class="button" href=${`/s/${site}/conflicts`}>${say('page.look')}</a>`;
  if (status.state === 'sent' || status.state === 'sending') return null;
  return html`<button class="button" onClick=${() => store.syncNow()}>${say('page.send-now')}</button>`;
}
