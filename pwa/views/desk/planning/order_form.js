// What is asked for many groups: what to do, for which, and the rules that the best order has to keep to.

import { facet, markOf, nameOfRoom } from '../../../rules/survey.js';
import { html } from '../../html.js';
import { choiceText, say } from '../../words.js';

/** @typedef {import('./order.js').Places} Places */
/** @typedef {(asked: OrderAsked) => void} OnChange */

const WHATS = ['best', 'recommended', 'leave', 'defer'];
/** Scope by money: groups that cost the job more than they save. */
export const NOT_PAYING = 'not-paying';
const SECONDS = [15, 60, 180];
const FLAGS = /** @type {const} */ (['same_look', 'one_colour', 'no_dark_columns']);

/** @type {OrderAsked} */
export const EMPTY = {
  what: 'best',
  scope: {},
  each_item: '',
  budget: '',
  least_light_pct: '',
  bars_each: '',
  same_look: false,
  one_colour: false,
  no_dark_columns: false,
  keep_decided: true,
  items: null,
  seconds: 60,
};

/** The question as the server takes it: what is empty is not said. @param {OrderAsked} asked */
export function questionOf({ what, each_item, budget, least_light_pct, bars_each, scope, ...rest }) {
  const { pays: _, ...places } = scope;
  const numbers = { each_item, budget, least_light_pct, bars_each };
  const said = Object.entries(numbers)
    .filter(([, text]) => text.trim() !== '')
    .map(([name, text]) => [name, Number(text)]);
  return { ...rest, scope: places, ...Object.fromEntries(said) };
}

/** What the address asks for to begin with: 'leave' of what does not pay, for example. @param {string} search @returns {OrderAsked} */
export function askedIn(search) {
  const query = new URLSearchParams(search);
  const what = WHATS.find((each) => each === query.get('what')) ?? EMPTY.what;
  return withWhat(
    { ...EMPTY, scope: query.get('pays') === NOT_PAYING ? { pays: NOT_PAYING } : {} },
    /** @type {OrderAsked['what']} */ (what),
  );
}

/** The same with something else to do: the best order weighs the money of all groups, so it has no part of them by money. @param {OrderAsked} asked @param {OrderAsked['what']} what @returns {OrderAsked} */
function withWhat(asked, what) {
  const { pays, ...places } = asked.scope;
  return { ...asked, what, scope: what === 'best' || !pays ? places : { ...places, pays } };
}

/** @param {{places: Places, asked: OrderAsked, onChange: OnChange, busy: boolean, onLook: () => void}} props */
export function OrderForm({ places, asked, onChange, busy, onLook }) {
  const isBest = asked.what === 'best';
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    onLook();
  };
  return html`<form class="card order-form" onSubmit=${submit} aria-label=${say('site-order.title')}>
    <${Select} id="order-what" title=${say('site-order.what')} value=${asked.what}
      options=${WHATS.map((what) => [what, say(`site-order.${what}`)])}
      onChange=${(/** @type {OrderAsked['what']} */ what) => onChange(withWhat(asked, what))} />
    <${Scope} places=${places} asked=${asked} onChange=${onChange} />
    <div class="chips"><${Flag} name="keep_decided" asked=${asked} onChange=${onChange} /></div>
    <p class="help muted">${say('site-order.always-fixed')}</p>
    ${isBest && html`<${Rules} places=${places} asked=${asked} onChange=${onChange} />`}
    <button class="button main" disabled=${busy}>${say(isBest ? 'site-order.look' : 'site-order.show')}</button>
  </form>`;
}

/** @param {{id: string, title: string, value: string | number, options: Array<[string | number, string]>, onChange: (value: string) => void}} props */
function Select({ id, title, value, options, onChange }) {
  return html`<div class="field"><label for=${id}>${title}</label>
    <select id=${id} value=${value} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChange(event.currentTarget.value)}>
      ${options.map(([code, text]) => html`<option value=${code} selected=${code === value}>${text}</option>`)}
    </select></div>`;
}

/** @param {{places: Places, asked: OrderAsked, onChange: OnChange}} props */
function Scope({ places, asked, onChange }) {
  const uses = [
    ...new Set(places.rooms.map((room) => facet(room, 'identity').space_type ?? 'not-said')),
  ].sort();
  /** @type {Array<[keyof OrderScope, string, Array<[string, string]>]>} */
  const parts = [
    ['floor', 'floor', places.floors.map((floor) => [floor.id, facet(floor, 'identity').name ?? ''])],
    ['space_type', 'room-use', uses.map((use) => [use, choiceText(use)])],
    ['kind', 'kind', places.kinds.map((kind) => [kind.id, markOf(kind)])],
    ['room', 'room', places.rooms.map((room) => [room.id, nameOfRoom(room)])],
  ];
  if (asked.what !== 'best') parts.push(['pays', 'pays', [[NOT_PAYING, say('not-paying.only')]]]);
  const change = (/** @type {keyof OrderScope} */ name, /** @type {string} */ value) => {
    const { [name]: _, ...others } = asked.scope;
    onChange({ ...asked, scope: value ? { ...others, [name]: value } : others });
  };
  return html`<fieldset class="stack"><legend>${say('site-order.which')}</legend>
    <p class="help muted">${say('site-order.which-about')}</p>
    <div class="order-fields">${parts.map(
      ([name, word, options]) =>
        html`<${Select} key=${name} id=${`order-${name}`} title=${say(`site-order.${word}`)} value=${asked.scope[name] ?? ''}
        options=${[['', say('site-order.any')], ...options]} onChange=${(/** @type {string} */ value) => change(name, value)} />`,
    )}</div>
  </fieldset>`;
}

/** @param {{places: Places, asked: OrderAsked, onChange: OnChange}} props */
function Rules({ places, asked, onChange }) {
  /** @type {Array<['each_item' | 'budget' | 'least_light_pct' | 'bars_each', string, string]>} */
  const numbers = [
    ['each_item', 'each-item', '0.01'],
    ['budget', 'budget', '0.01'],
    ['least_light_pct', 'least-light', '1'],
    ['bars_each', 'bars-each', '1'],
  ];
  return html`<fieldset class="stack"><legend>${say('site-order.rules')}</legend>
    <div class="order-fields">${numbers.map(
      ([name, word, step]) => html`<div class="field" key=${name}>
        <label for=${`order-${name}`}>${say(`site-order.${word}`, { currency: places.currency || say('money.no-currency') })}</label>
        <p class="help" id=${`order-${name}-help`}>${say(`site-order.${word}-about`)}</p>
        <input id=${`order-${name}`} type="number" min="0" step=${step} inputmode="decimal" autocomplete="off" aria-describedby=${`order-${name}-help`} value=${asked[name]}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...asked, [name]: event.currentTarget.value })} /></div>`,
    )}</div>
    <div class="chips">${FLAGS.map((name) => html`<${Flag} key=${name} name=${name} asked=${asked} onChange=${onChange} />`)}</div>
    ${asked.one_colour && !places.items.some((item) => item.facets.bar?.cct_k) && html`<p class="notice" role="status">${say('site-order.no-colours')}</p>`}
    <${Items} places=${places} asked=${asked} onChange=${onChange} />
    <${Select} id="order-seconds" title=${say('site-order.seconds')} value=${asked.seconds}
      options=${SECONDS.map((seconds) => [seconds, say('site-order.some-seconds', { seconds })])}
      onChange=${(/** @type {string} */ seconds) => onChange({ ...asked, seconds: Number(seconds) })} />
  </fieldset>`;
}

/** @param {{name: 'same_look' | 'one_colour' | 'no_dark_columns' | 'keep_decided', asked: OrderAsked, onChange: OnChange}} props */
function Flag({ name, asked, onChange }) {
  return html`<label class="chip"><input type="checkbox" checked=${asked[name]}
    onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...asked, [name]: event.currentTarget.checked })} /><span>${say(`site-order.${name.replaceAll('_', '-')}`)}</span></label>`;
}

/** Bars and drivers that may be bought; all that are offered, unless some are taken off. @param {{places: Places, asked: OrderAsked, onChange: OnChange}} props */
function Items({ places, asked, onChange }) {
  const all = places.items.map(({ id }) => id);
  const change = (/** @type {string} */ id, /** @type {boolean} */ may) => {
    const items = (asked.items ?? all).filter((each) => each !== id).concat(may ? [id] : []);
    onChange({ ...asked, items: items.length === all.length ? null : items });
  };
  return html`<details><summary>${say('site-order.items')}${asked.items === null ? ` · ${say('site-order.items-all')}` : ` · ${asked.items.length}`}</summary>
    <div class="chips">${places.items.map(
      (
        item,
      ) => html`<label class="chip" key=${item.id}><input type="checkbox" checked=${asked.items === null || asked.items.includes(item.id)}
        onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => change(item.id, event.currentTarget.checked)} /><span>${facet(item, 'identity').code}</span></label>`,
    )}</div></details>`;
}
