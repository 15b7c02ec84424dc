// An offer that the customer can sign, a change order between two releases, and figures for rebate programmes.

import { useEffect, useState } from 'preact/hooks';
import { facet } from '../../rules/survey.js';
import { fileOfServer } from '../../store/desk.js';
import { FacetForm } from '../forms/facet_form.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { byPlace } from '../../rules/outcomes.js';
import { Problem } from '../parts/parts.js';
import { mayWrite } from '../places.js';
import { say } from '../words.js';
import { Answer, Desk, number, Table, useServer } from './parts.js';

/** One way for the whole site, beside others. @typedef {{name: string, groups: number, fixtures: number, items: number, kwh_now: number | null, kwh_then: number | null, money: Record<string, number | null>}} Option */
/** @typedef {{currency: string, options: Option[]}} OfferTold */

const [DAYS, DAYS_MOST] = [30, 365];
const MONEY = ['cost', 'rebate', 'net_cost', 'saving_year', 'npv', 'lcc'];

/** @param {{site: Site}} props */
export function Offer({ site }) {
  const answer = /** @type {import('./parts.js').Answered<OfferTold>} */ (
    useServer(`/api/sites/${site.id}/offer`, [])
  );
  return html`<${Desk} site=${site} at="/offer" title=${say('place.offer')}>
    <p>${say('offer.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {OfferTold} */ told) => html`<${Take} site=${site} /><${Options} told=${told} />`}<//>
    <${Change} site=${site} />
    <${Programmes} site=${site} />
  <//>`;
}

/** Makes a file on the server and hands it to who asked. */
function useTaken() {
  const [busy, setBusy] = useState(false);
  const [name, setName] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} path @param {string} file */
  const take = async (path, file) => {
    setBusy(true);
    setError(null);
    setName('');
    try {
      const url = URL.createObjectURL(await fileOfServer(path));
      Object.assign(document.createElement('a'), { href: url, download: file }).click();
      setName(file);
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  const told = html`<p role="status">${busy ? say('offer.making') : name && say('offer.made', { name })}</p><${Problem} error=${error} />`;
  return { busy, take, told, setError };
}

/** @param {{site: Site}} props */
function Take({ site }) {
  const [days, setDays] = useState(String(DAYS));
  const [note, setNote] = useState('');
  const { busy, take, told, setError } = useTaken();
  /** @param {'pdf' | 'xlsx'} form */
  const make = (form) => {
    const whole = Number(days);
    if (!Number.isInteger(whole) || whole < 1 || whole > DAYS_MOST)
      return setError({ code: 'offer.days-wrong' });
    const asked = new URLSearchParams({ days: String(whole), note: note.trim() });
    return take(`/api/sites/${site.id}/offer.${form}?${asked}`, `spanwalk-offer.${form}`);
  };
  return html`<section class="card" aria-label=${say('place.offer')}>
    <label class="field"><span class="label">${say('offer.days')}</span><input class="count" inputmode="numeric" value=${days} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setDays(event.currentTarget.value)} /></label>
    <div class="field"><label for="offer-note">${say('offer.note')}</label><textarea id="offer-note" class="short" rows="2" maxlength="500" value=${note} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setNote(event.currentTarget.value)}></textarea></div>
    <button type="button" class="button main" disabled=${busy} onClick=${() => make('pdf')}>${say('offer.pdf')}</button>
    <button type="button" class="button" disabled=${busy} onClick=${() => make('xlsx')}>${say('offer.xlsx')}</button>
    ${told}
  </section>`;
}

/** @param {{told: OfferTold}} props */
function Options({ told: { currency, options } }) {
  /** @type {Array<[string, (option: Option) => Child]>} */
  const rows = [
    .../** @type {const} */ (['groups', 'fixtures', 'items']).map(
      (name) => /** @type {[string, (option: Option) => Child]} */ ([name, (option) => number(option[name])]),
    ),
    ['kwh_now', (option) => number(option.kwh_now)],
    ['kwh_then', (option) => number(option.kwh_then)],
    ...MONEY.map(
      (name) =>
        /** @type {[string, (option: Option) => Child]} */ ([
          name,
          (option) => number(option.money[name], 2),
        ]),
    ),
  ];
  return html`<section class="card" aria-label=${say('offer.side-by-side')}>
    <h2>${say('offer.side-by-side')}</h2>
    <${Table} caption=${say('offer.side-by-side')} stacks numbers=${options.map((_, place) => place + 1)}
      heads=${[say('offer.figure'), ...options.map(({ name }) => say(`offer.option-${name}`))]}
      rows=${rows.map(([name, of]) => [say(`offer.row-${name}`, { currency }), ...options.map(of)])} />
  </section>`;
}

/** @param {{site: Site}} props */
function Change({ site }) {
  const numbers = useLive(
    async () =>
      (await site.all('release')).sort(byPlace).map((each) => String(facet(each, 'identity').number)),
    [site.id],
  );
  if (!numbers) return null;
  return html`<section class="card" aria-label=${say('offer.change')}>
    <h2>${say('offer.change')}</h2>
    <p class="muted">${say('offer.change-about')}</p>
    ${numbers.length < 2 ? html`<p class="notice">${say('offer.change-none')}</p>` : html`<${TakeChange} key=${numbers.length} site=${site} numbers=${numbers} />`}
  </section>`;
}

/** @param {{site: Site, numbers: string[]}} props */
function TakeChange({ site, numbers }) {
  const [from, setFrom] = useState(numbers.at(-2) ?? '');
  const [to, setTo] = useState(numbers.at(-1) ?? '');
  const [reason, setReason] = useState('');
  const { busy, take, told } = useTaken();
  /** @param {'pdf' | 'xlsx'} form */
  const make = (form) => {
    const asked = new URLSearchParams({ from, to, reason: reason.trim() });
    return take(`/api/sites/${site.id}/change-order.${form}?${asked}`, `spanwalk-change-order.${form}`);
  };
  /** @param {string} label @param {string} value @param {(value: string) => void} set */
  const choose = (label, value, set) =>
    html`<label class="field"><span class="label">${label}</span><select value=${value} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => set(event.currentTarget.value)}>${numbers.map((each) => html`<option key=${each} value=${each}>${each}</option>`)}</select></label>`;
  return html`<div class="side-by-side">${choose(say('offer.change-from'), from, setFrom)}${choose(say('offer.change-to'), to, setTo)}</div>
    <div class="field"><label for="change-reason">${say('page.reason')}</label><input id="change-reason" maxlength="500" value=${reason} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setReason(event.currentTarget.value)} /></div>
    <div class="side-by-side">
      <button type="button" class="button" disabled=${busy} onClick=${() => make('pdf')}>${say('offer.change-pdf')}</button>
      <button type="button" class="button" disabled=${busy} onClick=${() => make('xlsx')}>${say('offer.change-xlsx')}</button>
    </div>
    ${told}`;
}

/** @param {{site: Site}} props */
function Programmes({ site }) {
  const programmes = useLive(() => site.all('programme'), [site.id]);
  const { busy, take, told } = useTaken();
  if (!programmes) return null;
  const nameOf = (/** @type {RecordView<'programme'>} */ each) => facet(each, 'identity').name ?? '';
  return html`<section class="card" aria-label=${say('offer.programme')}>
    <h2>${say('offer.programme')}</h2>
    <p class="muted">${say('offer.programme-about')}</p>
    <ul class="rows">${programmes.map(
      (each) => html`<li class="row-text" key=${each.id}>
        <span class="strong">${nameOf(each)}</span>
        <div class="side-by-side">${['pdf', 'xlsx'].map(
          (form) =>
            html`<button type="button" class="button" key=${form} disabled=${busy} onClick=${() => take(`/api/sites/${site.id}/programmes/${each.id}.${form}`, `spanwalk-rebate-figures.${form}`)}>${say(`offer.programme-${form}`, { name: nameOf(each) })}</button>`,
        )}</div>
        <${Programme} site=${site} id=${each.id} title=${say('offer.programme-change', { name: nameOf(each) })} />
      </li>`,
    )}</ul>
    ${told}
    <${Programme} key=${programmes.length} site=${site} id=${null} title=${say('offer.programme-new')} />
  </section>`;
}

/** Which figures a programme asks for, by form. @param {{site: Site, id: string | null, title: string}} props `id`: null for a new one */
function Programme({ site, id, title }) {
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const open = async () => setForm(await site.form(id ?? site.newId(), 'identity'));
  useEffect(() => {
    open();
  }, []);
  if (!form || !mayWrite(site, 'programme')) return null;
  /** @param {Value} value */
  const save = async (value) => {
    const to = { ...value, parent: site.id };
    await site.save([
      { record: form.record, type: 'programme', facet: 'identity', value: to, seen: form.seen },
    ]);
    if (id) await open();
  };
  return html`<details class="points"><summary>${title}</summary>
    <${FacetForm} fields=${site.spec.records.programme.facets.identity.fields} value=${form.value} onSave=${save} />
  </details>`;
}
