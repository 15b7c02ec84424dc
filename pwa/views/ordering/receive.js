// What comes by a delivery, counted at the desk or in the yard, without a signal too: good, damaged, wrong, missing.

import { useEffect, useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { idOfName } from '../name_id.js';
import { Page } from '../parts/page.js';
import { Mark, Problem, Row } from '../parts/parts.js';
import { mayWrite } from '../places.js';
import { dayOf } from '../today/days.js';
import { choiceText, counted, say } from '../words.js';
import { Survey } from '../../rules/survey.js';
import { CANCELLED, COMPLETE, deliveryName, ordersOf, sameSlip } from './orders.js';

/** @typedef {import('./orders.js').OrderState} OrderState */
/** @typedef {import('./orders.js').LineState} LineState */
/** What is typed of an item. @typedef {{good: string, damaged: string, wrong: string, short: string, came_instead: string}} Typed */
/** The record of an item in this delivery, as it was when the form opened. @typedef {{record: string, there: boolean, seen: string | null, value: Value}} Opened */

/** @type {Array<'good' | 'damaged' | 'wrong' | 'short'>} */
const COUNTS = ['good', 'damaged', 'wrong', 'short'];
const MOST = 1_000_000;

/** @param {Site} site */
const readOrders = async (site) => ordersOf(new Survey(await site.everything()));

/** @param {string} state @returns {'done' | 'attention' | ''} */
export const lookOf = (state) => (state === COMPLETE ? 'done' : '');

/** The orders from which something can come. @param {{site: Site}} props */
export function Receive({ site }) {
  const orders = useLive(() => readOrders(site), [site.id]);
  const open = orders?.filter(({ state, ordered }) => state !== CANCELLED && ordered > 0) ?? [];
  return html`<${Page} title=${say('place.receive')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    <p>${say('receive.about')}</p>
    ${orders && open.length === 0 && html`<p class="notice">${say('receive.none')}</p>`}
    <ul class="rows">${open.map(
      (
        order,
      ) => html`<${Row} key=${order.record.id} href=${`/s/${site.id}/receive/${order.record.id}`} title=${titleOfOrder(order)}
        detail=${say('receive.came-of', { good: order.good, ordered: order.ordered })}
        end=${html`<${Mark} look=${lookOf(order.state)}>${choiceText(order.state)}<//>`} />`,
    )}</ul>
  <//>`;
}

/** @param {OrderState} order */
export const titleOfOrder = ({ number, supplier }) =>
  say('orders.title-of', { number, supplier: supplier || say('orders.supplier-not-said') });

/** One delivery of an order. @param {{site: Site, params: {order: string}}} props */
export function ReceiveOrder({ site, params }) {
  const orders = useLive(() => readOrders(site), [site.id]);
  const order = orders?.find(({ record }) => record.id === params.order);
  const [slip, setSlip] = useState(() => dayOf(new Date()));
  return html`<${Page} title=${order ? titleOfOrder(order) : say('place.receive')} over=${site.name} back=${`/s/${site.id}/receive`} look="form" site=${site.id}>
    ${orders && !order && html`<p class="notice">${say('orders.unknown')}</p>`}
    ${
      order &&
      html`<${Before} order=${order} />
      <div class="field">
        <label for="slip">${say('receive.slip')}</label>
        <p class="help" id="slip-help">${say('receive.slip-help')}</p>
        <input id="slip" class="strong" maxlength="60" value=${slip} aria-describedby="slip-help" autocomplete="off"
          onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setSlip(event.currentTarget.value)} />
      </div>
      ${
        sameSlip(slip)
          ? html`<${Counting} key=${`${order.record.id} ${sameSlip(slip)}`} site=${site} order=${order} slip=${sameSlip(slip)} />`
          : html`<p class="problem" role="alert">${say('receive.slip-missing')}</p>`
      }`
    }
  <//>`;
}

/** What came before, delivery by delivery. @param {{order: OrderState}} props */
function Before({ order }) {
  const slips = [...new Set(order.came.map(({ slip }) => slip))];
  if (slips.length === 0) return null;
  return html`<details class="points"><summary>${say('receive.before', { deliveries: counted(slips.length, 'delivery') })}</summary>
    <ul class="rows">${slips.map(
      (slip) => html`<li class="row-text" key=${slip}><span class="strong">${slip}</span>
        ${order.came.filter((each) => each.slip === slip).map((each) => html`<span class="detail" key=${each.record.id}>${cameText(order, each)}</span>`)}</li>`,
    )}</ul>
  </details>`;
}

/** What came of an item, in a line. @param {OrderState} order @param {import('./orders.js').Came} came */
export function cameText(order, came) {
  const code = order.lines.find(({ item }) => item === came.item)?.code ?? '';
  const counts = COUNTS.filter((name) => came[name] > 0).map((name) =>
    say(`receive.told-${name}`, { pieces: came[name] }),
  );
  const told = [say('receive.told', { code, counts: counts.join(', ') || say('receive.told-nothing') })];
  if (came.instead) told.push(say('receive.told-instead', { instead: came.instead }));
  if (came.disputed) told.push(say('receive.told-disputed'));
  return told.join(' ');
}

/** The lines of a delivery, to be counted. @param {{site: Site, order: OrderState, slip: string}} props */
function Counting({ site, order, slip }) {
  const lines = order.lines.filter(({ pieces }) => pieces > 0);
  const [opened, setOpened] = useState(/** @type {Map<string, Opened> | null} */ (null));
  const [typed, setTyped] = useState(/** @type {Record<string, Typed>} */ ({}));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(false);
  const may = mayWrite(site, 'delivery', 'count');
  const open = async () => {
    const found = await Promise.all(lines.map((line) => openLine(site, order.record.id, slip, line.item)));
    setOpened(new Map(found.map((each, place) => [lines[place].item, each])));
    setTyped({});
  };
  useEffect(() => {
    open();
  }, []);
  /** @param {string} item @param {Partial<Typed>} change */
  const type = (item, change) => {
    setSaved(false);
    setTyped((before) => ({ ...before, [item]: { ...typedOf(opened?.get(item), before[item]), ...change } }));
  };
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setError(null);
    const drafts = lines.flatMap(({ item }) => {
      const [here, now] = [opened?.get(item), typed[item]];
      return here && now && hasCount(now) ? draftsOf(order.record.id, slip, item, here, now) : [];
    });
    const wrong = Object.values(typed).some((each) =>
      COUNTS.some((name) => Number.isNaN(countOf(each[name]))),
    );
    if (wrong) return setError({ code: 'receive.count-wrong' });
    if (drafts.length === 0) return setError({ code: 'receive.nothing-counted' });
    try {
      await site.save(drafts);
      await open();
      setSaved(true);
    } catch (problem) {
      setError(problem);
    }
  };
  if (!opened) return null;
  return html`<form class="stack" onSubmit=${save} aria-label=${say('receive.count')}>
    ${lines.map((line) => html`<${Line} key=${line.item} line=${line} locked=${!may} there=${opened.get(line.item)?.there ?? false} typed=${typedOf(opened.get(line.item), typed[line.item])} onType=${(/** @type {Partial<Typed>} */ change) => type(line.item, change)} />`)}
    <${Problem} error=${error} />
    ${saved && html`<p role="status" class="strong">${say('receive.saved')}</p>`}
    ${may && html`<button class="button main">${say('receive.save')}</button>`}
  </form>`;
}

/** @param {{line: LineState, locked: boolean, there: boolean, typed: Typed, onType: (change: Partial<Typed>) => void}} props */
function Line({ line, locked, there, typed, onType }) {
  const id = (/** @type {string} */ name) => `${name}-${line.item}`;
  return html`<fieldset class="card receive-line" disabled=${locked}>
    <legend class="strong">${line.code}</legend>
    ${line.name && html`<p class="detail">${line.name}</p>`}
    <p class="measure">${say('receive.of-line', { ordered: line.pieces, good: line.good, left: line.left })}${there && html` <${Mark}>${say('receive.counted-before')}<//>`}</p>
    <div class="side-by-side">
      <div class="field"><label for=${id('good')}>${say('receive.good')}</label>
        <${Count} id=${id('good')} value=${typed.good} onType=${(/** @type {string} */ good) => onType({ good })} /></div>
      ${line.left > 0 && !there && html`<button type="button" class="button" onClick=${() => onType({ good: String(line.left) })}>${say('receive.all-left', { left: line.left })}</button>`}
    </div>
    <details class="points" open=${there && COUNTS.slice(1).some((name) => Number(typed[name]) > 0)}>
      <summary>${say('receive.not-all-well')}</summary>
      <div class="side-by-side">${COUNTS.slice(1).map(
        (name) => html`<div class="field" key=${name}><label for=${id(name)}>${say(`receive.${name}`)}</label>
          <${Count} id=${id(name)} value=${typed[name]} onType=${(/** @type {string} */ text) => onType({ [name]: text })} /></div>`,
      )}</div>
      <div class="field"><label for=${id('instead')}>${say('receive.came-instead')}</label>
        <input id=${id('instead')} maxlength="120" value=${typed.came_instead} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onType({ came_instead: event.currentTarget.value })} /></div>
      <p class="muted small">${say('receive.not-all-well-help')}</p>
    </details>
  </fieldset>`;
}

/** @param {{id: string, value: string, onType: (text: string) => void}} props */
const Count = ({ id, value, onType }) =>
  html`<input id=${id} class="count" inputmode="numeric" autocomplete="off" value=${value} aria-invalid=${Number.isNaN(countOf(value)) ? 'true' : 'false'}
    onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onType(event.currentTarget.value)} />`;

/** Pieces that were typed; none where nothing is. @param {string} text @returns {number} NaN: it is no count */
function countOf(text) {
  if (!text.trim()) return 0;
  const number = Number(text);
  return Number.isInteger(number) && number >= 0 && number <= MOST ? number : Number.NaN;
}

/** @param {Typed} typed */
const hasCount = (typed) => COUNTS.some((name) => typed[name].trim() !== '');

/** @param {Site} site @param {string} order @param {string} slip @param {string} item @returns {Promise<Opened>} */
async function openLine(site, order, slip, item) {
  const record = await idOfName(order, deliveryName(slip, item));
  const [there, { seen, value }] = await Promise.all([site.get(record), site.form(record, 'count')]);
  return { record, there: there !== undefined, seen, value };
}

/** @param {Opened | undefined} opened @param {Typed | undefined} typed @returns {Typed} */
function typedOf(opened, typed) {
  if (typed) return typed;
  const told = (/** @type {string} */ name) => (opened?.value[name] ? String(opened.value[name]) : '');
  const good = opened?.there ? String(opened.value.good ?? '') : '';
  return {
    good,
    damaged: told('damaged'),
    wrong: told('wrong'),
    short: told('short'),
    came_instead: told('came_instead'),
  };
}

/** @param {string} order @param {string} slip @param {string} item @param {Opened} opened @param {Typed} typed @returns {Draft[]} */
function draftsOf(order, slip, item, { record, there, seen }, typed) {
  const type = 'delivery';
  const instead = typed.came_instead.trim();
  const more = COUNTS.slice(1)
    .map((name) => [name, countOf(typed[name])])
    .filter(([, pieces]) => pieces !== 0);
  const value = {
    good: countOf(typed.good),
    ...Object.fromEntries(more),
    ...(instead && { came_instead: instead }),
  };
  const identity = { record, type, facet: 'identity', value: { parent: order, item, slip }, seen: null };
  return [...(there ? [] : [identity]), { record, type, facet: 'count', value, seen }];
}
