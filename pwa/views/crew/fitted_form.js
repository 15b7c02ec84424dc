// As fitted: 'as released' without a tap, or item by item from the catalogue.

import { useId, useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Chips } from '../inputs/fields.js';
import { typedNumber } from '../inputs/typed_number.js';
import { Camera } from '../scanning/camera.js';
import { choiceText, say } from '../words.js';
import { itemText, rowsText } from './fitted.js';

/** @typedef {import('../../rules/installing/as_fitted.js').FittedItem} FittedItem */
/** @typedef {import('./fitted.js').Edit} Edit */
/** An item of the catalogue as it may be fitted. @typedef {{id: string, kind: string, code: string, settings: number[]}} Offered */

const KINDS = ['bar', 'driver', 'accessory'];
const MOST = 99;
const MOST_LETTERS = 60;
/** What numbers on parts are printed in. */
const CODES_ON_PARTS = ['QRCode', 'DataMatrix', 'Linear-Codes'];

/** @param {{site: Site, released: FittedItem[], edit: Edit | null, onStart: () => void, onEdit: (edit: Edit | null) => void}} props `edit` null: as released */
export function AsFitted({ site, released, edit, onStart, onEdit }) {
  return html`<section class="stack" aria-label=${say('card.as-fitted')}>
    <p class="label">${say('card.as-fitted')}</p>
    ${
      edit
        ? html`<${Items} site=${site} edit=${edit} onEdit=${onEdit} />
          <button type="button" class="button plain" onClick=${() => onEdit(null)}>${say('card.as-released-after-all')}</button>`
        : html`<ul class="step-lines">${released.map((item) => html`<li key=${item.code}>${itemText(item)}</li>`)}</ul>
          <button type="button" class="button plain" onClick=${onStart}>${say('card.fitted-otherwise')}</button>`
    }
  </section>`;
}

/** Items of the catalogue that may be fitted. @param {Site} site @returns {Promise<Offered[]>} */
async function offeredItems(site) {
  const items = await site.all('catalogue_item');
  return items
    .map(({ id, facets }) => ({
      id,
      kind: facets.identity?.item ?? '',
      code: facets.identity?.code ?? '',
      settings: facets.driver?.settings_ma ?? [],
    }))
    .filter(({ kind }) => KINDS.includes(kind))
    .sort((a, b) => (a.code < b.code ? -1 : 1));
}

/** @param {{site: Site, edit: Edit, onEdit: (edit: Edit) => void}} props */
function Items({ site, edit, onEdit }) {
  const offered = useLive(() => offeredItems(site), [site.id]) ?? [];
  const { reason } = site.spec.records.installation.facets.as_fitted.fields;
  /** @param {number} at @param {FittedItem} item */
  const change = (at, item) =>
    onEdit({ ...edit, items: edit.items.map((each, place) => (place === at ? item : each)) });
  const add = (/** @type {string} */ kind) =>
    onEdit({ ...edit, items: [...edit.items, { kind, code: '', number: 1 }] });
  return html`${edit.items.map((item, at) => html`<${Item} key=${at} item=${item} offered=${offered} onItem=${(/** @type {FittedItem} */ next) => change(at, next)} />`)}
    <div class="chips" role="group" aria-label=${say('card.add-an-item')}>
      ${KINDS.map((kind) => html`<button type="button" class="button" key=${kind} onClick=${() => add(kind)}>+ ${choiceText(kind)}</button>`)}
    </div>
    <${Chips} name="fitted-reason" title=${say('card.why-it-differs')} choices=${reason.choices} value=${edit.reason} onChange=${(/** @type {Edit['reason']} */ code) => onEdit({ ...edit, reason: code })} />
    <div class="field">
      <label for="fitted-note">${say('card.in-words')}</label>
      <textarea id="fitted-note" class="short" rows="2" maxlength="2000" value=${edit.note ?? ''} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onEdit({ ...edit, note: event.currentTarget.value })}></textarea>
    </div>`;
}

/** @param {{item: FittedItem, offered: Offered[], onItem: (item: FittedItem) => void}} props */
function Item({ item, offered, onItem }) {
  const id = useId();
  const here = offered.filter(({ kind }) => kind === item.kind);
  const codes = [...new Set([...(item.code ? [item.code] : []), ...here.map(({ code }) => code)])];
  const settings = here.find(({ code }) => code === item.code)?.settings ?? [];
  /** @param {string} code */
  const choose = (code) => {
    const { item: _, setting_ma: __, ...rest } = item;
    const found = here.find((each) => each.code === code);
    const setting = item.kind === 'driver' ? (item.setting_ma ?? found?.settings[0]) : undefined;
    onItem({
      ...rest,
      code,
      ...(found && { item: found.id }),
      ...(setting !== undefined && { setting_ma: setting }),
    });
  };
  return html`<fieldset class="card fitted-item">
    <legend>${choiceText(item.kind)}${item.rows?.length ? `, ${rowsText(item.rows)}` : ''}</legend>
    <div class="field">
      <label for=${`${id}-code`}>${say('card.item')}</label>
      <select id=${`${id}-code`} value=${item.code} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => choose(event.currentTarget.value)}>
        ${!item.code && html`<option value="" selected>–</option>`}
        ${codes.map((code) => html`<option key=${code} value=${code} selected=${code === item.code}>${code}</option>`)}
      </select>
    </div>
    <${HowMany} number=${item.number} onNumber=${(/** @type {number} */ number) => onItem({ ...item, number })} />
    ${item.kind === 'driver' && html`<${Setting} settings=${settings} value=${item.setting_ma} onSetting=${(/** @type {number | undefined} */ setting_ma) => onItem({ ...item, setting_ma })} />`}
    <${Serials} serials=${item.serials ?? []} onSerials=${(/** @type {string[]} */ serials) => onItem({ ...item, serials })} />
    <label class="check-line">
      <input type="checkbox" checked=${item.spare === true} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onItem({ ...item, spare: event.currentTarget.checked })} />
      <span>${say('card.from-the-spares')}</span>
    </label>
  </fieldset>`;
}

/** @param {{number: number, onNumber: (number: number) => void}} props */
function HowMany({ number, onNumber }) {
  return html`<div class="field" role="group" aria-label=${say('card.how-many')}>
    <p class="label">${say('card.how-many')}</p>
    <div class="tally">
      <button type="button" class="button" aria-label=${say('card.one-fewer')} disabled=${number === 0} onClick=${() => onNumber(number - 1)}>−</button>
      <output class="measure">${number}</output>
      <button type="button" class="button" aria-label=${say('card.one-more')} disabled=${number >= MOST} onClick=${() => onNumber(number + 1)}>+</button>
    </div>
  </div>`;
}

/** The set-point: one of the driver's, or typed where the catalogue does not have it. @param {{settings: number[], value?: number, onSetting: (setting_ma: number | undefined) => void}} props */
function Setting({ settings, value, onSetting }) {
  const id = useId();
  const known = value !== undefined && !settings.includes(value) ? [value, ...settings] : settings;
  if (settings.length > 0) {
    return html`<div class="field">
      <label for=${id}>${say('card.set-to')}</label>
      <select id=${id} value=${value} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onSetting(Number(event.currentTarget.value))}>
        ${known.map((each) => html`<option key=${each} value=${each} selected=${each === value}>${each} mA</option>`)}
      </select>
    </div>`;
  }
  return html`<${TypedSetting} value=${value} onSetting=${onSetting} />`;
}

/** What is typed stays, also where it is no set-point. @param {{value?: number, onSetting: (setting_ma: number | undefined) => void}} props */
function TypedSetting({ value, onSetting }) {
  const id = useId();
  const [typed, setTyped] = useState(String(value ?? ''));
  /** @param {string} text */
  const type = (text) => {
    setTyped(text);
    const number = typedNumber(text)?.number ?? 0;
    onSetting(Number.isInteger(number) && number > 0 ? number : undefined);
  };
  const wrong = typed.trim() !== '' && value === undefined;
  return html`<div class="field">
    <label for=${id}>${say('card.set-to')}</label>
    <input id=${id} inputmode="numeric" autocomplete="off" value=${typed} aria-invalid=${wrong ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
    ${wrong && html`<p class="problem" role="alert">${say('field.not-whole', { title: say('card.set-to'), value: typed })}</p>`}
  </div>`;
}

/** Batch or serial numbers, by scan or by hand. @param {{serials: string[], onSerials: (serials: string[]) => void}} props */
function Serials({ serials, onSerials }) {
  const id = useId();
  const [text, setText] = useState('');
  const [scanning, setScanning] = useState(false);
  /** @param {string} told */
  const add = (told) => {
    const serial = told.trim().slice(0, MOST_LETTERS);
    if (serial && !serials.includes(serial)) onSerials([...serials, serial]);
    setText('');
    setScanning(false);
  };
  return html`<div class="field">
    <label for=${id}>${say('card.batch-or-serial')}</label>
    ${serials.map((each) => html`<p class="side-by-side" key=${each}><span class="measure">${each}</span><button type="button" class="button plain" onClick=${() => onSerials(serials.filter((other) => other !== each))}>${say('card.take-away')}</button></p>`)}
    <div class="side-by-side">
      <input id=${id} autocomplete="off" autocapitalize="characters" maxlength=${MOST_LETTERS} value=${text}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setText(event.currentTarget.value)}
        onBlur=${() => add(text)}
        onKeyDown=${(/** @type {KeyboardEvent} */ event) => {
          if (event.key !== 'Enter') return;
          event.preventDefault();
          add(text);
        }} />
      <button type="button" class="button" onClick=${() => setScanning(!scanning)}>${say(scanning ? 'page.back' : 'card.scan-it')}</button>
    </div>
    ${scanning && html`<${Camera} onTexts=${(/** @type {string[]} */ [text]) => add(text)} formats=${CODES_ON_PARTS} hint=${say('card.hold-the-number')} />`}
  </div>`;
}
