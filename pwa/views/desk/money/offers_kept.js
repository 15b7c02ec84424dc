// Offers and change orders as they are kept: taken away again, and what the customer answered.

import { useEffect, useState } from 'preact/hooks';
import { facet, has } from '../../../rules/survey.js';
import { store } from '../../../store/store.js';
import { draftOf } from '../../drafts.js';
import { KeptForm } from '../../forms/kept_form.js';
import { html } from '../../html.js';
import { dayText, numberText } from '../../numbers.js';
import { languageName } from '../../parts/paper_language.js';
import { Mark } from '../../parts/parts.js';
import { mayWrite } from '../../record_screens.js';
import { dayOf } from '../../today/days.js';
import { choiceText, say } from '../../words.js';
import { answerFields, isLate, madeOn, priceOf, wrongDay } from './offer_answer.js';

/** An offer as the desk lists it; `state` is a choice's code. @typedef {{record: RecordView<'offer'>, number: number, title: string, state: string, about: string[]}} OfferState */

const CHANGE_ORDER = 'change-order';

/** All offers and change orders, the newest first. @param {Site} site @returns {Promise<OfferState[]>} */
export async function readOffers(site) {
  const [offers, releases] = await Promise.all([site.all('offer'), site.all('release')]);
  const release = new Map(releases.map((each) => [each.id, facet(each, 'identity').number ?? 0]));
  const number = new Map(offers.map((each) => [each.id, facet(each, 'identity').number ?? 0]));
  const today = dayOf(new Date());
  return offers
    .map((record) => offerState(record, release, number, today))
    .sort((a, b) => b.number - a.number);
}

/**
 * An offer as the desk lists it.
 *
 * @param {RecordView<'offer'>} record @param {Map<string, number>} release numbers of releases by id
 * @param {Map<string, number>} offer numbers of offers by id @param {string} today as 2026-03-01
 * @returns {OfferState}
 */
export function offerState(record, release, offer, today) {
  const { number = 0, sort, valid_until: until, ...said } = facet(record, 'identity');
  const about = [
    say('offer.of', { day: dayText(madeOn(record)) }),
    until && say('offer.until', { day: dayText(until) }),
    priceText(record) && say('offer.price-then', { price: priceText(record) }),
    sort === CHANGE_ORDER &&
      say('offer.of-releases', {
        from: release.get(said.against ?? '') ?? '–',
        to: release.get(said.release ?? '') ?? '–',
      }),
    said.changes && say('offer.changes-offer', { number: offer.get(said.changes) ?? '–' }),
    languageText(/** @type {{language?: string} | undefined} */ (said.told)?.language),
    answerText(record),
  ];
  return {
    record,
    number,
    title: say(sort === CHANGE_ORDER ? 'offer.title-change' : 'offer.title', { number }),
    state: stateOf(record, until, today),
    about: about.filter((each) => typeof each === 'string' && each !== '').map(String),
  };
}

/** What was offered, with tax where there is any: by the plan of today it may be another. @param {RecordView<'offer'>} record @param {string} [option] */
function priceText(record, option) {
  const cost = priceOf(record, option);
  const { currency } = /** @type {{currency?: string}} */ (facet(record, 'identity').told ?? {});
  return cost === null ? '' : [currency, numberText(cost, 2)].filter(Boolean).join(' ');
}

/** In which language it was made, where that is another than one's own. @param {string} [language] */
const languageText = (language) =>
  language && languageName(language) !== languageName(store.language)
    ? say('offer.in-language', { language: languageName(language) })
    : '';

/** @param {RecordView<'offer'>} record @param {string | undefined} until @param {string} today */
function stateOf(record, until, today) {
  const { answer } = facet(record, 'answered');
  if (answer) return answer;
  return until && until < today ? 'expired' : 'no-answer-yet';
}

/** @param {RecordView<'offer'>} record */
function answerText(record) {
  const { answer, option, answered_on: on = '', by_whom: by = '' } = facet(record, 'answered');
  if (!answer) return '';
  const facts = { answer: choiceText(answer), day: dayText(on), by };
  const chosen = [option && choiceText(option), answer === 'accepted' && priceText(record, option)]
    .filter(Boolean)
    .join(', ');
  const said = chosen
    ? say('offer.answered-option', { ...facts, option: chosen })
    : say('offer.answered', facts);
  return isLate(record, facet(record, 'answered')) ? `${said} · ${say('offer.answered-late')}` : said;
}

/** @type {Record<string, 'done' | 'attention'>} */
const LOOKS = { accepted: 'done', expired: 'attention', refused: 'attention' };

/** @param {{site: Site, offers: OfferState[]}} props */
export function Kept({ site, offers }) {
  return html`<section class="card" aria-label=${say('offer.kept')}>
    <h2>${say('offer.kept')}</h2>
    ${offers.length === 0 && html`<p class="notice">${say('offer.none-kept')}</p>`}
    <ul class="rows">${offers.map((offer) => html`<${OfferRow} key=${offer.record.id} site=${site} offer=${offer} />`)}</ul>
  </section>`;
}

/** @param {{site: Site, offer: OfferState}} props */
function OfferRow({ site, offer: { record, title, state, about } }) {
  const answered = has(record, 'answered');
  return html`<li class="row-text">
    <span class="strong">${title} <${Mark} look=${LOOKS[state] ?? ''}>${choiceText(state)}<//></span>
    <span class="detail">${about.join(' · ')}</span>
    <div class="side-by-side">${['pdf', 'xlsx'].map((form) => html`<a class="button" key=${form} href=${`/api/sites/${site.id}/offers/${record.id}.${form}`} download>${say(`offer.${form}`, { title })}</a>`)}</div>
    <${Answered} key=${String(answered)} site=${site} offer=${record} title=${say(answered ? 'offer.answer-changed' : 'offer.answer', { title })} />
  </li>`;
}

/** What the customer answered, by form. @param {{site: Site, offer: RecordView<'offer'>, title: string}} props */
function Answered({ site, offer, title }) {
  const [opened, setOpened] = useState(/** @type {OpenForm | null} */ (null));
  const open = async () => setOpened(await site.form(offer.id, 'answered'));
  useEffect(() => {
    open();
  }, []);
  if (!opened || !mayWrite(site, 'offer', 'answered')) return null;
  const name = `${offer.id}.answered`;
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    await site.save([{ record: offer.id, type: 'offer', facet: 'answered', value, seen }]);
    draftOf(site.id, name).forget();
    await open();
  };
  const fields = answerFields(offer, site.spec.records.offer.facets.answered.fields);
  const late = { answered_on: { code: 'offer.answered-late', facts: {} } };
  const form = {
    fields,
    value: opened.value,
    together: (/** @type {Value} */ value) => wrongDay(offer, fields, dayOf(new Date()), value),
    mind: (/** @type {Value} */ value) => (isLate(offer, value) ? late : {}),
  };
  return html`<details class="points"><summary>${title}</summary>
    <${KeptForm} site=${site} name=${name} seen=${opened.seen} onSave=${save} form=${form} />
  </details>`;
}
