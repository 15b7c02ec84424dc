// The phones of a site: who used each last, what it has not sent, and the way to shut a lost one out.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { phoneName } from '../phone_name.js';
import { counted, say, timeText } from '../words.js';
import { Table } from './parts.js';

/** @param {{site: any, phones: any[], onRevoked: () => void}} props */
export function Phones({ site, phones, onRevoked }) {
  const [asked, setAsked] = useState(/** @type {any} */ (null));
  const [error, setError] = useState(/** @type {any} */ (null));
  const revoke = async () => {
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/devices/${asked.id}`, { method: 'DELETE' });
      setAsked(null);
      onRevoked();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="stack" aria-label="Phones">
    <${Table} caption="Phones, the one heard of last first" heads=${['Phone', 'Used by', 'Last heard', 'Not sent', '']}
      rows=${phones.map((phone) => [
        phoneName(phone.id),
        phone.name,
        timeText(phone.seen_at),
        unsentText(phone),
        phone.revoked_at
          ? `shut out ${timeText(phone.revoked_at)}`
          : html`<button type="button" class="button" onClick=${() => setAsked(phone)}>Shut out…</button>`,
      ])} />
    ${
      asked &&
      html`<div class="notice bad stack" role="alertdialog" aria-label="Shut a phone out">
      <p>${say('desk.shut-out', { phone: phoneName(asked.id), name: asked.name })}</p>
      <div class="side-by-side"><button type="button" class="button danger" onClick=${revoke}>Shut it out</button><button type="button" class="button" onClick=${() => setAsked(null)}>Leave it</button></div>
    </div>`
    }
    <${Problem} error=${error} />
  </section>`;
}

/** @param {{operations: number, photos: number, since: string | null}} phone */
function unsentText({ operations, photos, since }) {
  const parts = [operations && counted(operations, 'entry', 'entries'), photos && counted(photos, 'photo')];
  const told = parts.filter(Boolean).join(', ');
  return told ? `${told}${since ? `, since ${timeText(since)}` : ''}` : 'nothing';
}
