// Making offers that the customer can sign, change orders between two releases, and figures for rebate programmes.

import { useEffect, useState } from 'preact/hooks';
import { byPlace } from '../../../rules/installing/outcomes.js';
import { facet } from '../../../rules/survey.js';
import { askServer } from '../../../store/desk.js';
import { draftOf } from '../../drafts.js';
import { KeptForm } from '../../forms/kept_form.js';
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
const MONEY = ['cost', 'tax', 'rebate', 'net_cost', 'saving_year', 'npv', 'lcc'];

/** @param {{site: Site}} props */
export function Offer({ site }) {
  const answer = /** @type {import('../parts.js').Answered<OfferTold>} */ (
    useServer(`/api/sites/${site.id}/offers/draft`, [])
  );
  const offers = useLive(() => readOffers(site), [site.id]);
  return html`<${Desk} site=${site} at="/offer" title=${say('place.offer')}>
    <p>${say('offer.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {OfferTold} */ told) => html`<${Options} told=${told} /><${Make} site=${site} />`}<//>
    ${offers && html`<${Kept} site=${site} offers=${offers} /><${Change} site=${site} offers=${offers} />`}
    <${Programmes} site=${site} />
  <//>`;
}

/** Makes an offer on the server, and brings it here. @param {Site} site @param {() => void} onMade the form begins anew */
function useMade(site, onMade) {
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} path @param {object} body */
  const make = async (path, body) => {
    setBusy(true);
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/${path}`, { method: 'POST', body });
      onMade();
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
  const { busy, make, error, setError } = useMade(site, () => setNote(''));
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
  const isTaxed = options.some(({ money }) => money.tax);
  const shown = rows.filter(([name]) => name !== 'tax' || isTaxed);
  const title = (/** @type {string} */ name) =>
    say(`offer.row-${name === 'cost' && isTaxed ? 'cost-with-tax' : name}`, { currency });
  return html`<section class="card">
    <h2>${say('offer.side-by-side')}</h2>
    <${Table} caption=${say('offer.side-by-side')} stacks numbers=${options.map((_, place) => place + 1)}
      heads=${[say('offer.figure'), ...options.map(({ name }) => say(`offer.option-${name}`))]}
      rows=${shown.map(([name, of]) => [title(name), ...options.map(of)])} />
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
    ${numbers.length < 2 ? html`<p class="notice">${say('offer.change-none')}</p>` : html`<${MakeChange} site=${site} numbers=${numbers} offers=${offers} />`}
  </section>`;
}

/** @param {{site: Site, numbers: string[], offers: OfferState[]}} props */
function MakeChange({ site, numbers, offers }) {
  const agreed = offers.find(({ state }) => state === 'accepted') ?? offers[0];
  // Until one is chosen by hand: the newest two releases, and the offer that is agreed. More of them may still arrive.
  const [chosen, setChosen] = useState(/** @type {{from?: string, to?: string, changes?: string}} */ ({}));
  const {
    from = numbers.at(-2) ?? '',
    to = numbers.at(-1) ?? '',
    changes = agreed?.record.id ?? '',
  } = chosen;
  const [reason, setReason] = useState('');
  const [language, setLanguage] = useState(OWN);
  const { busy, make, error } = useMade(site, () => {
    setChosen({});
    setReason('');
  });
  const order = () =>
    make('offers/change', { from, to, reason: reason.trim(), changes: changes || null, language });
  const releases = numbers.map((each) => /** @type {[string, string]} */ ([each, each]));
  const named = offers.map(({ record, title }) => /** @type {[string, string]} */ ([record.id, title]));
  /** @param {string} label @param {string} value @param {'from' | 'to' | 'changes'} what @param {Array<[string, string]>} choices */
  const choose = (label, value, what, choices) =>
    html`<label class="field"><span class="label">${label}</span><select value=${value} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setChosen({ ...chosen, [what]: event.currentTarget.value })}>${choices.map(([id, text]) => html`<option key=${id} value=${id}>${text}</option>`)}</select></label>`;
  return html`<div class="side-by-side">
      ${choose(say('offer.change-from'), from, 'from', releases)}
      ${choose(say('offer.change-to'), to, 'to', releases)}
      ${choose(say('offer.change-of'), changes, 'changes', [...named, ['', say('offer.change-of-none')]])}
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
  const [made, setMade] = useState(0);
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
    <${Programme} key=${made} site=${site} id=${null} title=${say('offer.programme-new')} onMade=${() => setMade(made + 1)} />
  </section>`;
}

/** Which figures a programme asks for, by form. @param {{site: Site, id: string | null, title: string, onMade?: () => void}} props `id`: null for a new one */
function Programme({ site, id, title, onMade }) {
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const open = async () => setForm(await site.form(id ?? site.newId(), 'identity'));
  useEffect(() => {
    open();
  }, []);
  if (!form || !mayWrite(site, 'programme')) return null;
  const name = id ? `${id}.identity` : 'new-programme';
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    const to = { ...value, parent: site.id };
    await site.save([{ record: form.record, type: 'programme', facet: 'identity', value: to, seen }]);
    draftOf(site.id, name).forget();
    if (id) await open();
    onMade?.();
  };
  return html`<details class="points"><summary>${title}</summary>
    <${KeptForm} site=${site} name=${name} seen=${form.seen} onSave=${save} form=${{ fields: site.spec.records.programme.facets.identity.fields, value: form.value }} />
  </details>`;
}
