// Making offers that the customer can sign, change orders between two releases, and figures for rebate programmes.

import { useEffect, useState } from 'preact/hooks';
import { byPlace } from '../../../rules/installing/outcomes.js';
import { facet } from '../../../rules/survey.js';
import { askServer } from '../../../store/desk.js';
import { FacetForm } from '../../forms/facet_form.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { inLanguage, OWN, PaperLanguage } from '../../parts/paper_language.js';
import { Problem } from '../../parts/parts.js';
import { mayWrite } from '../../record_screens.js';
import { say } from '../../words.js';
import { Answer, Desk, number, Table, useServer } from '../parts.js';
import { Kept, readOffers } from './offers_kept.js';

/** One way for the whole site, beside others. @typedef {{name: string, groups: number, fixtures: number, items: number, kwh_now: number | null, kwh_then: number | null, money: Record<string, number | null>}} Option */
/** @typedef {{currency: string, options: Option[]}} OfferTold */
/** @typedef {import('./offers_kept.js').OfferState} OfferState */

const [DAYS, DAYS_MOST] = [30, 365];
const MONEY = ['cost', 'rebate', 'net_cost', 'saving_year', 'npv', 'lcc'];

/** @param {{site: Site}} props */
export function Offer({ site }) {
  const answer = /** @type {import('../parts.js').Answered<OfferTold>} */ (
    useServer(`/api/sites/${site.id}/offers/draft`, [])
  );
  const offers = useLive(() => readOffers(site), [site.id]);
  return html`<${Desk} site=${site} at="/offer" title=${say('place.offer')}>
    <p>${say('offer.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {OfferTold} */ told) => html`<${Options} told=${told} /><${Make} key=${offers?.length} site=${site} />`}<//>
    ${offers && html`<${Kept} site=${site} offers=${offers} /><${Change} site=${site} offers=${offers} />`}
    <${Programmes} site=${site} />
  <//>`;
}

/** Makes an offer on the server, and brings it here. @param {Site} site */
function useMade(site) {
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} path @param {object} body */
  const make = async (path, body) => {
    setBusy(true);
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/${path}`, { method: 'POST', body });
      await site.sync();
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return { busy, make, error, setError };
}

/** @param {{site: Site}} props */
function Make({ site }) {
  const [days, setDays] = useState(String(DAYS));
  const [note, setNote] = useState('');
  const [language, setLanguage] = useState(OWN);
  const { busy, make, error, setError } = useMade(site);
  const offer = () => {
    const whole = Number(days);
    if (!Number.isInteger(whole) || whole < 1 || whole > DAYS_MOST)
      return setError({ code: 'offer.days-wrong' });
    return make('offers', { days: whole, note: note.trim(), language });
  };
  return html`<section class="card" aria-label=${say('place.offer')}>
    <label class="field"><span class="label">${say('offer.days')}</span><input class="count" inputmode="numeric" value=${days} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setDays(event.currentTarget.value)} /></label>
    <div class="field"><label for="offer-note">${say('offer.note')}</label><textarea id="offer-note" class="short" rows="2" maxlength="500" value=${note} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setNote(event.currentTarget.value)}></textarea></div>
    <${PaperLanguage} id="offer-language" value=${language} onChange=${setLanguage} />
    <${Problem} error=${error} />
    <button type="button" class="button main" disabled=${busy} onClick=${offer}>${say('offer.make')}</button>
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
  return html`<section class="card">
    <h2>${say('offer.side-by-side')}</h2>
    <${Table} caption=${say('offer.side-by-side')} stacks numbers=${options.map((_, place) => place + 1)}
      heads=${[say('offer.figure'), ...options.map(({ name }) => say(`offer.option-${name}`))]}
      rows=${rows.map(([name, of]) => [say(`offer.row-${name}`, { currency }), ...options.map(of)])} />
  </section>`;
}

/** @param {{site: Site, offers: OfferState[]}} props */
function Change({ site, offers }) {
  const numbers = useLive(
    async () =>
      (await site.all('release')).sort(byPlace).map((each) => String(facet(each, 'identity').number)),
    [site.id],
  );
  if (!numbers) return null;
  return html`<section class="card" aria-label=${say('offer.change')}>
    <h2>${say('offer.change')}</h2>
    <p class="muted">${say('offer.change-about')}</p>
    ${numbers.length < 2 ? html`<p class="notice">${say('offer.change-none')}</p>` : html`<${MakeChange} key=${`${numbers.length} ${offers.length}`} site=${site} numbers=${numbers} offers=${offers} />`}
  </section>`;
}

/** @param {{site: Site, numbers: string[], offers: OfferState[]}} props */
function MakeChange({ site, numbers, offers }) {
  const [from, setFrom] = useState(numbers.at(-2) ?? '');
  const [to, setTo] = useState(numbers.at(-1) ?? '');
  const agreed = offers.find(({ state }) => state === 'accepted') ?? offers[0];
  const [changes, setChanges] = useState(agreed?.record.id ?? '');
  const [reason, setReason] = useState('');
  const [language, setLanguage] = useState(OWN);
  const { busy, make, error } = useMade(site);
  const order = () =>
    make('offers/change', { from, to, reason: reason.trim(), changes: changes || null, language });
  const releases = numbers.map((each) => /** @type {[string, string]} */ ([each, each]));
  const named = offers.map(({ record, title }) => /** @type {[string, string]} */ ([record.id, title]));
  /** @param {string} label @param {string} value @param {(value: string) => void} set @param {Array<[string, string]>} choices */
  const choose = (label, value, set, choices) =>
    html`<label class="field"><span class="label">${label}</span><select value=${value} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => set(event.currentTarget.value)}>${choices.map(([id, text]) => html`<option key=${id} value=${id}>${text}</option>`)}</select></label>`;
  return html`<div class="side-by-side">
      ${choose(say('offer.change-from'), from, setFrom, releases)}
      ${choose(say('offer.change-to'), to, setTo, releases)}
      ${choose(say('offer.change-of'), changes, setChanges, [...named, ['', say('offer.change-of-none')]])}
    </div>
    <div class="field"><label for="change-reason">${say('page.reason')}</label><input id="change-reason" maxlength="500" value=${reason} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setReason(event.currentTarget.value)} /></div>
    <${PaperLanguage} id="change-language" value=${language} onChange=${setLanguage} />
    <${Problem} error=${error} />
    <button type="button" class="button" disabled=${busy} onClick=${order}>${say('offer.change-make')}</button>`;
}

/** @param {{site: Site}} props */
function Programmes({ site }) {
  const programmes = useLive(() => site.all('programme'), [site.id]);
  const [language, setLanguage] = useState(OWN);
  if (!programmes) return null;
  const nameOf = (/** @type {RecordView<'programme'>} */ each) => facet(each, 'identity').name ?? '';
  return html`<section class="card" aria-label=${say('offer.programme')}>
    <h2>${say('offer.programme')}</h2>
    <p class="muted">${say('offer.programme-about')}</p>
    ${programmes.length > 0 && html`<${PaperLanguage} id="programme-language" value=${language} onChange=${setLanguage} />`}
    <ul class="rows">${programmes.map(
      (each) => html`<li class="row-text" key=${each.id}>
        <span class="strong">${nameOf(each)}</span>
        <div class="side-by-side">${['pdf', 'xlsx'].map(
          (form) =>
            html`<a class="button" key=${form} href=${inLanguage(`/api/sites/${site.id}/programmes/${each.id}.${form}`, language)} download>${say(`offer.programme-${form}`, { name: nameOf(each) })}</a>`,
        )}</div>
        <${Programme} site=${site} id=${each.id} title=${say('offer.programme-change', { name: nameOf(each) })} />
      </li>`,
    )}</ul>
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
