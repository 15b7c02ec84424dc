// The phones of a site: who used each last, what it has not sent; a lost one is shut out, one that was found is let in again.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { html } from '../../html.js';
import { Mark, Problem } from '../../parts/parts.js';
import { phoneName } from '../../syncing/phone_name.js';
import { counted, say, timeText } from '../../words.js';

/** @param {{site: Site, phones: DeviceTold[], onRevoked: () => void}} props */
export function Phones({ site, phones, onRevoked }) {
  const [asked, setAsked] = useState(/** @type {DeviceTold | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {DeviceTold} phone @param {boolean} out */
  const shutOut = async (phone, out) => {
    setError(null);
    try {
      const path = `/api/sites/${site.id}/devices/${phone.id}`;
      await askServer(path, { method: 'PUT', body: { shut_out: out } });
      setAsked(null);
      onRevoked();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="stack" aria-label=${say('desk.phones')}>
    <h2>${say('desk.phones-the-one-heard-of')}</h2>
    <ul class="rows">${phones.map((phone) => html`<${OnePhone} key=${phone.id} phone=${phone} beside=${onTheSame(phone, phones)} onAsk=${() => setAsked(phone)} onLetIn=${() => shutOut(phone, false)} />`)}</ul>
    ${
      asked &&
      html`<div class="notice bad stack" role="alertdialog" aria-label=${say('desk.shut-a-phone-out')}>
      <p>${say('desk.shut-out', { phone: phoneName(asked.id), name: asked.name })}</p>
      <div class="side-by-side"><button type="button" class="button danger" onClick=${() => shutOut(asked, true)}>${say('desk.shut-it-out')}</button><button type="button" class="button" onClick=${() => setAsked(null)}>${say('desk.leave-it')}</button></div>
    </div>`
    }
    <${Problem} error=${error} />
  </section>`;
}

/** Other copies of the site on the same phone: they are shut out together. @param {DeviceTold} phone @param {DeviceTold[]} among */
const onTheSame = ({ id, phone }, among) =>
  among.filter((each) => each.id !== id && phone !== null && each.phone === phone);

/** @param {{phone: DeviceTold, beside: DeviceTold[], onAsk: () => void, onLetIn: () => void}} props */
function OnePhone({ phone, beside, onAsk, onLetIn }) {
  const name = phoneName(phone.id);
  const names = [phone, ...beside].map(({ id }) => phoneName(id)).join(', ');
  return html`<li class="row-text">
    <span class="strong">${name}, ${phone.name} ${phone.this && html`<${Mark} look="done">${say('firm-phones.in-hand')}<//>`}</span>
    <span class="detail">${say('desk.not-sent', { phone: unsentText(phone) })}</span>
    <span class="detail">${say('desk.last-heard-of', { seen_at: timeText(phone.seen_at) })}</span>
    ${beside.length > 0 && html`<span class="detail">${say('desk.copies-of-phone', { names })}</span>`}
    ${phone.revoked_at && html`<span class="detail"><span class="problem">${say('desk.shut-out-on', { revoked_at: timeText(phone.revoked_at) })}</span></span>`}
    ${!phone.this && html`<span>${phone.revoked_at ? html`<button type="button" class="button" aria-label=${say('desk.let-in-phone', { id: name })} onClick=${onLetIn}>${say('desk.let-in')}</button>` : html`<button type="button" class="button" aria-label=${say('desk.shut-out-phone', { id: name })} onClick=${onAsk}>${say('desk.shut-out-asked')}</button>`}</span>`}
  </li>`;
}

/** @param {{operations: number, photos: number, since: string | null}} phone */
function unsentText({ operations, photos, since }) {
  const parts = [operations && counted(operations, 'entry'), photos && counted(photos, 'photo')];
  const told = parts.filter(Boolean).join(', ');
  return told ? `${told}${since ? say('desk.since', { since: timeText(since) }) : ''}` : say('page.nothing');
}
