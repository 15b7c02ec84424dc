// The phones of a site: who used each last, what it has not sent, and the way to shut a lost one out.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { phoneName } from '../syncing/phone_name.js';
import { counted, say, timeText } from '../words.js';

/** @param {{site: Site, phones: DeviceTold[], onRevoked: () => void}} props */
export function Phones({ site, phones, onRevoked }) {
  const [asked, setAsked] = useState(/** @type {DeviceTold | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const revoke = async () => {
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/devices/${asked?.id}`, { method: 'DELETE' });
      setAsked(null);
      onRevoked();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="stack" aria-label=${say('desk.phones')}>
    <h2>${say('desk.phones-the-one-heard-of')}</h2>
    <ul class="rows">${phones.map(
      (phone) => html`<li class="row-text" key=${phone.id}>
      <span class="strong">${phoneName(phone.id)}, ${phone.name}</span>
      <span class="detail">${say('desk.not-sent', { phone: unsentText(phone) })}</span>
      <span class="detail">${say('desk.last-heard-of', { seen_at: timeText(phone.seen_at) })}</span>
      ${phone.revoked_at ? html`<span class="problem">${say('desk.shut-out-on', { revoked_at: timeText(phone.revoked_at) })}</span>` : html`<span><button type="button" class="button" aria-label=${say('desk.shut-out-phone', { id: phoneName(phone.id) })} onClick=${() => setAsked(phone)}>${say('desk.shut-out-asked')}</button></span>`}
    </li>`,
    )}</ul>
    ${
      asked &&
      html`<div class="notice bad stack" role="alertdialog" aria-label=${say('desk.shut-a-phone-out')}>
      <p>${say('desk.shut-out', { phone: phoneName(asked.id), name: asked.name })}</p>
      <div class="side-by-side"><button type="button" class="button danger" onClick=${revoke}>${say('desk.shut-it-out')}</button><button type="button" class="button" onClick=${() => setAsked(null)}>${say('desk.leave-it')}</button></div>
    </div>`
    }
    <${Problem} error=${error} />
  </section>`;
}

/** @param {{operations: number, photos: number, since: string | null}} phone */
function unsentText({ operations, photos, since }) {
  const parts = [operations && counted(operations, 'entry'), photos && counted(photos, 'photo')];
  const told = parts.filter(Boolean).join(', ');
  return told ? `${told}${since ? say('desk.since', { since: timeText(since) }) : ''}` : say('page.nothing');
}
