// The figures of a scenario: what is left empty stays as it is today.

import { useState } from 'preact/hooks';
import { facet } from '../../../rules/survey.js';
import { html } from '../../html.js';
import { numberText } from '../../numbers.js';
import { choiceText, say } from '../../words.js';

/** @typedef {import('./what_if.js').Places} Places */

/** Name, least and most as the record takes it, step. @type {Array<[ScenarioNumber, number, number, string]>} */
const NUMBERS = [
  ['tariff_per_kwh', 0, 10, '0.001'],
  ['escalation_pct', -10, 20, '0.1'],
  ['discount_pct', 0, 30, '0.1'],
  ['labour_per_h', 0, 1000, '0.01'],
  ['hours_pct', 10, 300, '1'],
  ['keep_light_pct', 30, 150, '1'],
  ['budget', 0, 1e8, '0.01'],
];
const POLICIES = ['keep-a-share-of-todays-light', 'meet-the-target-of-the-space'];

/** @type {ScenarioTexts} */
export const NOTHING = {
  tariff_per_kwh: '',
  escalation_pct: '',
  discount_pct: '',
  labour_per_h: '',
  hours_pct: '',
  keep_light_pct: '',
  budget: '',
  light_policy: '',
  without: [],
};

/** What of the figures is no number that the record takes, in sentences. @param {ScenarioTexts} texts @param {string} currency */
export function wrongOf(texts, currency) {
  return NUMBERS.flatMap(([name, least, most]) => {
    const value = texts[name].trim();
    if (value === '') return [];
    const number = Number(value.replace(',', '.'));
    const right = Number.isFinite(number) && number >= least && number <= most;
    return right
      ? []
      : [
          say('scenarios.wrong', {
            title: say(`scenarios.${name}`, { currency: currency || say('money.no-currency') }),
            value,
            least: numberText(least, 0),
            most: numberText(most, 0),
          }),
        ];
  });
}

/** The scenario as the server and its record take it. @param {ScenarioTexts} texts @returns {ScenarioSaid} */
export function saidOf(texts) {
  const numbers = NUMBERS.filter(([name]) => texts[name].trim() !== '').map(([name]) => [
    name,
    Number(texts[name].replace(',', '.')),
  ]);
  return {
    ...Object.fromEntries(numbers),
    ...(texts.light_policy && { light_policy: texts.light_policy }),
    ...(texts.without.length > 0 && { without: texts.without }),
  };
}

/** The same of a kept record. @param {Record<string, unknown>} kept @returns {ScenarioTexts} */
export function textsOf(kept) {
  const numbers = NUMBERS.map(([name]) => [
    name,
    kept[name] === undefined || kept[name] === null ? '' : String(kept[name]),
  ]);
  return {
    ...NOTHING,
    ...Object.fromEntries(numbers),
    light_policy: String(kept.light_policy ?? ''),
    without: Array.isArray(kept.without) ? kept.without.map(String) : [],
  };
}

/** @param {{places: Places, texts: ScenarioTexts, onChange: (texts: ScenarioTexts) => void}} props */
export function WhatIfForm({ places, texts, onChange }) {
  const currency = String(places.money.currency ?? say('money.no-currency'));
  const today = { ...places.settings, ...places.money, hours_pct: 100 };
  return html`<form class="card order-form" onSubmit=${(/** @type {Event} */ event) => event.preventDefault()} aria-label=${say('scenarios.figures')}>
    <div class="order-fields">
      ${NUMBERS.map(
        ([name, , , step]) => html`<div class="field" key=${name}>
        <label for=${`what-if-${name}`}>${say(`scenarios.${name}`, { currency })}</label>
        <p class="help" id=${`what-if-${name}-help`}>${todayText(/** @type {Record<string, unknown>} */ (today)[name])}</p>
        <input id=${`what-if-${name}`} type="number" step=${step} inputmode="decimal" autocomplete="off" aria-describedby=${`what-if-${name}-help`} value=${texts[name]}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...texts, [name]: event.currentTarget.value })} /></div>`,
      )}
      <div class="field"><label for="what-if-light_policy">${say('scenarios.light_policy')}</label>
        <select id="what-if-light_policy" value=${texts.light_policy} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChange({ ...texts, light_policy: event.currentTarget.value })}>
          <option value="" selected=${texts.light_policy === ''}>${say('scenarios.as-is')}</option>
          ${POLICIES.map((policy) => html`<option key=${policy} value=${policy} selected=${texts.light_policy === policy}>${choiceText(policy)}</option>`)}
        </select></div>
    </div>
    <${Without} places=${places} texts=${texts} onChange=${onChange} />
    <button type="button" class="button" onClick=${() => onChange(NOTHING)}>${say('scenarios.clear')}</button>
  </form>`;
}

/** @param {unknown} value */
const todayText = (value) =>
  typeof value === 'number' ? say('scenarios.as-today', { value: numberText(value, 0, 4) }) : '';

/** Items are drawn when it is opened: a catalogue has very many. @param {{places: Places, texts: ScenarioTexts, onChange: (texts: ScenarioTexts) => void}} props */
function Without({ places, texts, onChange }) {
  const [opened, setOpened] = useState(false);
  const flip = (/** @type {string} */ id, /** @type {boolean} */ gone) =>
    onChange({ ...texts, without: texts.without.filter((each) => each !== id).concat(gone ? [id] : []) });
  const chips = () =>
    places.items.map(
      (item) =>
        html`<label class="chip" key=${item.id}><input type="checkbox" checked=${texts.without.includes(item.id)} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => flip(item.id, event.currentTarget.checked)} /><span>${facet(item, 'identity').code}</span></label>`,
    );
  return html`<details onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${say('scenarios.without')} · ${texts.without.length || say('scenarios.without-none')}</summary>
    ${opened && html`<div class="chips">${chips()}</div>`}
  </details>`;
}
