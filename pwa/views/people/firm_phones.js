// The phones of the firm, for its owners: shut out of all sites, and let in again.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { Answer, useServer } from '../desk/parts.js';
import { html } from '../html.js';
import { Mark, Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';
import { Asked } from './asked.js';
import { nameOf, unsentOf } from './phone_text.js';

export function FirmPhones() {
  const [turn, setTurn] = useState(0);
  const [said, setSaid] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const answer = /** @type {import('../desk/parts.js').Answered<{phones: PhoneOfFirm[]}>} */ (
    useServer('/api/phones', [turn])
  );
  /** @param {PhoneOfFirm} phone @param {boolean} out */
  const shutOut = async (phone, out) => {
    setError(null);
    try {
      await askServer(`/api/phones/${phone.id}`, { method: 'PUT', body: { shut_out: out } });
      const done = out ? 'firm-phones.shut-out-done' : 'firm-phones.let-in-done';
      setSaid(say(done, { phone: nameOf(phone) }));
    } catch (refused) {
      setError(refused);
    }
    setTurn((before) => before + 1);
  };
  return html`<section class="stack" aria-label=${say('firm-phones.title')}>
    <h2>${say('firm-phones.title')}</h2>
    <p>${say('firm-phones.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {{phones: PhoneOfFirm[]}} */ { phones }) => html`
      <ul class="rows">${phones.map((each) => html`<${OnePhone} key=${`${each.id} ${each.shut_out_at}`} phone=${each} onShutOut=${(/** @type {boolean} */ out) => shutOut(each, out)} />`)}</ul>`}<//>
    <${Problem} error=${error} />
    <span role="status">${said}</span>
  </section>`;
}

/** @param {{phone: PhoneOfFirm, onShutOut: (out: boolean) => void}} props */
function OnePhone({ phone, onShutOut }) {
  const [asked, setAsked] = useState(false);
  const [name, unsent, people] = [nameOf(phone), unsentOf(phone), phone.people.join(', ')];
  const times = { signed_in: timeText(phone.signed_in_at), seen: timeText(phone.seen_at) };
  return html`<li class="row-text person-row" data-phone=${phone.id}>
    <span class="strong">${name} ${phone.this && html`<${Mark} look="done">${say('firm-phones.in-hand')}<//>`}</span>
    <span class="detail">${say('firm-phones.used-by', { people })}</span>
    <span class="detail">${say(`me.device.${phone.kind}`)}, ${say('phones.signed-in', times)}</span>
    ${unsent && html`<span class="detail">${say('phones.not-sent', { unsent })}</span>`}
    ${phone.shut_out_at && html`<span class="detail"><span class="problem">${say('firm-phones.out-since', { time: timeText(phone.shut_out_at) })}</span></span>`}
    ${asked && html`<${Asked} doing=${say('firm-phones.shut-out')} onLeave=${() => setAsked(false)} onDo=${() => onShutOut(true)}>${say('firm-phones.sure', { phone: name, people })}<//>`}
    ${!asked && !phone.this && html`<span>${phone.shut_out_at ? html`<button type="button" class="button" aria-label=${say('firm-phones.let-in-of', { phone: name })} onClick=${() => onShutOut(false)}>${say('firm-phones.let-in')}</button>` : html`<button type="button" class="button" aria-label=${say('firm-phones.shut-out-of', { phone: name })} onClick=${() => setAsked(true)}>${say('firm-phones.shut-out')}</button>`}</span>`}
  </li>`;
}
