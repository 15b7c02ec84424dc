// What comes by a delivery, counted at the desk or in the yard, without a signal too: good, damaged, wrong, missing.

import { useEffect, useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { idOfName } from '../name_id.js';
import { Page } from '../parts/page.js';
import { Mark, Problem, Row } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { mayWrite } from '../record_screens.js';
import { dayOf } from '../today/days.js';
import { choiceText, counted, say } from '../words.js';
import { Survey } from '../../rules/survey.js';
import { allGood, COUNTS, countOf, hasCount, NOT_WELL, stepped } from './counting.js';
import { CANCELLED, COMPLETE, deliveryName, ordersOf, sameSlip } from './orders.js';

/** @typedef {import('./orders.js').OrderState} OrderState */
/** @typedef {import('./orders.js').LineState} LineState */
/** @typedef {import('./counting.js').Typed} Typed */
/** @typedef {import('./counting.js').Name} Name */
/** The record of an item in this delivery, as it was when the form opened; `gone`: a count that was taken back. @typedef {{record: string, there: boolean, gone: boolean, life: string | null, seen: string | null, value: Value}} Opened */

const FORM = 'receive-count';

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

/** How the count stands at the foot: what hinders it, or that it is saved. @typedef {{error: unknown, saved: boolean}} Told */
/** @type {Told} */
const NOTHING_TOLD = { error: null, saved: false };

/** One delivery of an order. @param {{site: Site, params: {order: string}}} props */
export function ReceiveOrder({ site, params }) {
  const orders = useLive(() => readOrders(site), [site.id]);
  const order = orders?.find(({ record }) => record.id === params.order);
  const [slip, setSlip] = useState(() => dayOf(new Date()));
  const [told, setTold] = useState(NOTHING_TOLD);
  const [undone, setUndone] = useState(0);
  const change = (/** @type {string} */ text) => {
    setTold(NOTHING_TOLD);
    setSlip(text);
  };
  const counts = order && sameSlip(slip) && mayWrite(site, 'delivery', 'count');
  const act = html`<${Problem} error=${told.error} />
    ${told.saved && html`<${Saved} site=${site} onUndone=${() => setUndone(undone + 1)}>${say('receive.saved')}<//>`}
    <button class="button main wide" form=${FORM}>${say('receive.save')}</button>`;
  return html`<${Page} title=${order ? titleOfOrder(order) : say('place.receive')} over=${site.name} back=${`/s/${site.id}/receive`} look="form" site=${site.id} act=${counts && act}>
    ${orders && !order && html`<p class="notice">${say('orders.unknown')}</p>`}
    ${
      order &&
      html`<${Before} order=${order} onChoose=${change} />
      <div class="field">
        <label for="slip">${say('receive.slip')}</label>
        <p class="help" id="slip-help">${say('receive.slip-help')}</p>
        <input id="slip" class="strong" maxlength="60" value=${slip} aria-describedby="slip-help" autocomplete="off"
          onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => change(event.currentTarget.value)} />
      </div>
      ${
        sameSlip(slip)
          ? html`<${Counting} key=${`${order.record.id} ${sameSlip(slip)} ${undone}`} site=${site} order=${order} slip=${sameSlip(slip)} onTold=${setTold} />`
          : html`<p class="problem" role="alert">${say('receive.slip-missing')}</p>`
      }`
    }
  <//>`;
}

/** What came before, delivery by delivery; one is chosen to be corrected. @param {{order: OrderState, onChoose: (slip: string) => void}} props */
function Before({ order, onChoose }) {
  const slips = [...new Set(order.came.map(({ slip }) => slip))];
  if (slips.length === 0) return null;
  return html`<details class="points"><summary>${say('receive.before', { deliveries: counted(slips.length, 'delivery') })}</summary>
    <ul class="rows">${slips.map(
      (slip) => html`<li class="row-text stack" key=${slip}><span class="strong">${slip}</span>
        ${order.came.filter((each) => each.slip === slip).map((each) => html`<span class="detail" key=${each.record.id}>${cameText(order, each)}</span>`)}
        <button type="button" class="button" aria-label=${say('receive.correct-of', { slip })} onClick=${() => onChoose(slip)}>${say('receive.correct')}</button></li>`,
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

/** The lines of a delivery, to be counted. @param {{site: Site, order: OrderState, slip: string, onTold: (told: Told) => void}} props */
function Counting({ site, order, slip, onTold }) {
  const lines = order.lines.filter(({ pieces }) => pieces > 0);
  const [opened, setOpened] = useState(/** @type {Map<string, Opened> | null} */ (null));
  const [typed, setTyped] = useState(/** @type {Record<string, Typed>} */ ({}));
  const open = async () => {
    const found = await Promise.all(lines.map((line) => openLine(site, order.record.id, slip, line.item)));
    setOpened(new Map(found.map((each, place) => [lines[place].item, each])));
    setTyped({});
  };
  useEffect(() => {
    open();
  }, []);
  /** @param {string} item @param {(typed: Typed) => Typed} change */
  const type = (item, change) => {
    onTold(NOTHING_TOLD);
    setTyped((before) => ({ ...before, [item]: change(typedOf(opened?.get(item), before[item])) }));
  };
  const toCome = lines.filter(({ item, left }) => left > 0 && !opened?.get(item)?.there);
  const all = () => {
    for (const { item, left } of toCome) type(item, (before) => allGood(before, left));
  };
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const drafts = lines.flatMap(({ item }) => {
      const [here, now] = [opened?.get(item), typed[item]];
      return here && now && hasCount(now) ? draftsOf(order.record.id, slip, item, here, now) : [];
    });
    const wrong = Object.values(typed).some((each) =>
      COUNTS.some((name) => Number.isNaN(countOf(each[name]))),
    );
    if (wrong) return onTold({ error: { code: 'receive.count-wrong' }, saved: false });
    if (drafts.length === 0) return onTold({ error: { code: 'receive.nothing-counted' }, saved: false });
    try {
      await site.save(drafts);
      await open();
      onTold({ error: null, saved: true });
    } catch (error) {
      onTold({ error, saved: false });
    }
  };
  const locked = !mayWrite(site, 'delivery', 'count');
  if (!opened) return null;
  return html`<form class="stack" id=${FORM} onSubmit=${save} aria-label=${say('receive.count')}>
    ${!locked && toCome.length > 1 && html`<button type="button" class="button wide" onClick=${all}>${say('receive.all-of-it')}</button>`}
    ${lines.map((line) => html`<${Line} key=${line.item} line=${line} locked=${locked} there=${opened.get(line.item)?.there ?? false} typed=${typedOf(opened.get(line.item), typed[line.item])} onType=${(/** @type {(typed: Typed) => Typed} */ change) => type(line.item, change)} />`)}
  </form>`;
}

/** @param {{line: LineState, locked: boolean, there: boolean, typed: Typed, onType: (change: (typed: Typed) => Typed) => void}} props */
function Line({ line, locked, there, typed, onType }) {
  const [isOpen] = useState(() => NOT_WELL.some((name) => countOf(typed[name]) > 0));
  const id = (/** @type {string} */ name) => `${name}-${line.item}`;
  const step = (/** @type {Name} */ name, /** @type {1 | -1} */ by) =>
    onType((before) => stepped(before, name, by, line.left));
  /** @param {Name} name */
  const count = (name) =>
    html`<div class="stepper" key=${name}><label for=${id(name)}>${say(`receive.${name}`)}</label>
      <button type="button" class="button" aria-label=${say('receive.one-less', { what: say(`receive.${name}`), code: line.code })} onClick=${() => step(name, -1)}>−</button>
      <input id=${id(name)} class="count" inputmode="numeric" autocomplete="off" value=${typed[name]} aria-invalid=${Number.isNaN(countOf(typed[name])) ? 'true' : 'false'}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => {
          const text = event.currentTarget.value;
          onType((before) => ({ ...before, [name]: text }));
        }} />
      <button type="button" class="button" aria-label=${say('receive.one-more', { what: say(`receive.${name}`), code: line.code })} onClick=${() => step(name, 1)}>+</button>
    </div>`;
  return html`<fieldset class="card receive-line" disabled=${locked}>
    <legend class="strong">${line.code}</legend>
    ${line.name && html`<p class="detail">${line.name}</p>`}
    <p class="measure">${say('receive.of-line', { ordered: line.pieces, good: line.good, left: line.left })}${there && html` <${Mark}>${say('receive.counted-before')}<//>`}</p>
    ${line.over > 0 && html`<p class="notice" role="note">${say('receive.over', { pieces: line.over })}</p>`}
    ${line.left > 0 && !there && html`<button type="button" class="button wide" aria-label=${say('receive.all-left-of', { left: line.left, code: line.code })} onClick=${() => onType((before) => allGood(before, line.left))}>${say('receive.all-left', { left: line.left })}</button>`}
    ${count('good')}
    <details class="points" open=${isOpen}>
      <summary>${say('receive.not-all-well')}</summary>
      ${NOT_WELL.map(count)}
      <div class="field"><label for=${id('instead')}>${say('receive.came-instead')}</label>
        <input id=${id('instead')} maxlength="120" value=${typed.came_instead} onInput=${(
          /** @type {EventOf<HTMLInputElement>} */ event,
        ) => {
          const text = event.currentTarget.value;
          onType((before) => ({ ...before, came_instead: text }));
        }} /></div>
      <p class="muted small">${say('receive.not-all-well-help')}</p>
    </details>
  </fieldset>`;
}

/** @param {Site} site @param {string} order @param {string} slip @param {string} item @returns {Promise<Opened>} */
async function openLine(site, order, slip, item) {
  const record = await idOfName(order, deliveryName(slip, item));
  const [found, { seen, value }] = await Promise.all([site.get(record), site.form(record, 'count')]);
  const gone = found?.removed === true;
  return { record, there: found !== undefined && !gone, gone, life: found?.seen.life ?? null, seen, value };
}

/** @param {Opened | undefined} opened @param {Typed | undefined} typed @returns {Typed} */
function typedOf(opened, typed) {
  if (typed) return typed;
  const value = opened?.there ? opened.value : {};
  const told = (/** @type {string} */ name) => (value[name] ? String(value[name]) : '');
  const good = String(value.good ?? '');
  return {
    good,
    damaged: told('damaged'),
    wrong: told('wrong'),
    short: told('short'),
    came_instead: told('came_instead'),
  };
}

/** @param {string} order @param {string} slip @param {string} item @param {Opened} opened @param {Typed} typed @returns {Draft[]} */
function draftsOf(order, slip, item, { record, there, gone, life, seen }, typed) {
  const type = 'delivery';
  const instead = typed.came_instead.trim();
  const more = NOT_WELL.map((name) => [name, countOf(typed[name])]).filter(([, pieces]) => pieces !== 0);
  const value = {
    good: countOf(typed.good),
    ...Object.fromEntries(more),
    ...(instead && { came_instead: instead }),
  };
  const identity = { record, type, facet: 'identity', value: { parent: order, item, slip }, seen: null };
  const count = { record, type, facet: 'count', value, seen };
  if (gone)
    return [{ record, type, facet: 'life', kind: /** @type {const} */ ('restore'), seen: life }, count];
  return [...(there ? [] : [identity]), count];
}
