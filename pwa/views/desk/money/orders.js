// What is to be ordered for the newest release, the orders that were made, and one order: sent, received, cancelled.

import { useEffect, useState } from 'preact/hooks';
import { facet, has, Survey } from '../../../rules/survey.js';
import { askServer } from '../../../store/desk.js';
import { draftOf } from '../../drafts.js';
import { notDays } from '../../forms/days_typed.js';
import { KeptForm } from '../../forms/kept_form.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { barredIn, barredItems, ordersOf } from '../../ordering/orders.js';
import { cameText, lookOf, titleOfOrder } from '../../ordering/receive.js';
import { inLanguage, OWN, PaperLanguage } from '../../parts/paper_language.js';
import { Facts, Mark, Problem, Row } from '../../parts/parts.js';
import { mayWrite } from '../../record_screens.js';
import { choiceText, counted, say, timeText } from '../../words.js';
import { Fold } from '../fold.js';
import { Desk, number, Table } from '../parts.js';
import { StoppedReleased, useStoppedReleased } from '../releases/stopped_released.js';

/** @typedef {import('../../ordering/orders.js').OrderState} OrderState */
/** When things are wanted: in all, and floor by floor. @typedef {{on: string, floors: Record<string, string>}} Wanted */

/** @type {Wanted} */
const AT_ANY_TIME = { on: '', floors: {} };

/** @param {Site} site */
async function readOrders(site) {
  const survey = new Survey(await site.everything());
  const prices = /** @type {RecordView<'order_prices'>[]} */ (survey.ofType('order_prices'));
  const figures = new Map(
    prices.map((each) => [each.parent ?? '', /** @type {OrderFigures} */ (facet(each, 'identity').figures)]),
  );
  const releases = new Map(
    /** @type {RecordView<'release'>[]} */ (survey.ofType('release')).map((each) => [
      each.id,
      facet(each, 'identity').number,
    ]),
  );
  return { orders: ordersOf(survey), figures, releases, barred: barredItems(survey) };
}

/** @param {{site: Site}} props */
export function Orders({ site }) {
  const read = useLive(() => readOrders(site), [site.id]);
  const still = useStoppedReleased(site);
  return html`<${Desk} site=${site} at="/orders" title=${say('place.orders')}>
    <p>${say('orders.about')}</p>
    <${StoppedReleased} site=${site} told=${still} />
    ${read && still && html`<${ToOrder} site=${site} ordered=${read.orders.length} />`}
    ${
      read &&
      read.orders.length > 0 &&
      html`<section class="card" aria-label=${say('orders.made')}><h2>${say('orders.made')}</h2>
        <ul class="rows">${read.orders.map((order) => html`<${OrderRow} key=${order.record.id} site=${site} order=${order} figures=${read.figures.get(order.record.id)} isBarred=${barredIn(order, read.barred).length > 0} />`)}</ul></section>`
    }
    <p><a href=${`/s/${site.id}/receive`}>${say('place.receive')}</a> · <a href=${`/s/${site.id}/stock`}>${say('place.stock')}</a></p>
  <//>`;
}

/** @param {{site: Site, order: OrderState, figures?: OrderFigures, isBarred: boolean}} props `isBarred`: something of it was recalled or retired */
function OrderRow({ site, order, figures, isBarred }) {
  const told = [
    choiceText(order.sort),
    order.madeOn,
    say('receive.came-of', { good: order.good, ordered: order.ordered }),
    figures && figures.sum !== null && sumText(figures),
  ];
  return html`<${Row} href=${`/s/${site.id}/desk/orders/${order.record.id}`} title=${titleOfOrder(order)} detail=${told.filter(Boolean).join(' · ')}
    end=${html`<span class="marks">${isBarred && html`<${Mark} look="attention">${say('orders.barred-mark')}<//>`}<${Mark} look=${lookOf(order.state)}>${choiceText(order.state)}<//></span>`} />`;
}

/** @param {OrderFigures} figures */
const sumText = ({ sum, currency }) =>
  sum === null ? say('orders.no-sum') : [currency, number(sum, 2)].filter(Boolean).join(' ');

/** What the orders that stand do not cover, looked at before it is ordered. @param {{site: Site, ordered: number}} props `ordered`: how many orders there are */
function ToOrder({ site, ordered }) {
  const [wanted, setWanted] = useState(AT_ANY_TIME);
  const [draft, setDraft] = useState(/** @type {OrdersDraft | null} */ (null));
  const [note, setNote] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const body = () => ({
    wanted_on: wanted.on,
    floors: Object.entries(wanted.floors)
      .filter(([, on]) => on)
      .map(([floor, on]) => ({ floor, on })),
  });
  useEffect(() => {
    const gone = new AbortController();
    const how = { method: 'POST', body: body(), signal: gone.signal };
    askServer(`/api/sites/${site.id}/orders/draft`, how).then(
      (told) => setDraft(/** @type {OrdersDraft} */ (told)),
      (problem) => gone.signal.aborted || setError(problem),
    );
    return () => gone.abort();
  }, [wanted, ordered]);
  const order = async () => {
    setBusy(true);
    setError(null);
    try {
      const told = { ...body(), content: draft?.content, note: note.trim() };
      await askServer(`/api/sites/${site.id}/orders`, { method: 'POST', body: told });
      // What is left to order is asked for when these have come here.
      setDraft(null);
      setNote('');
      setWanted(AT_ANY_TIME);
      await site.sync();
    } catch (problem) {
      setError(problem);
    }
    setBusy(false);
  };
  if (!draft) return html`<${Problem} error=${error} />`;
  return html`<section class="card" aria-label=${say('orders.to-order')}>
    <h2>${say('orders.to-order')}</h2>
    ${
      draft.orders.length === 0
        ? html`<p class="notice">${say('orders.nothing', { release: draft.release })}</p>`
        : html`<p>${say('orders.to-order-about', { release: draft.release })}</p>
      ${draft.cautions.map(({ code, facts }) => html`<p class="notice" key=${code}>${say(code, facts)}</p>`)}
      ${draft.orders.map((each) => html`<${DraftTold} key=${each.supplier} draft=${each} release=${draft.release} />`)}
      <${Days} floors=${draft.floors} wanted=${wanted} onChange=${setWanted} />
      <div class="field"><label for="order-note">${say('orders.note')}</label>
        <textarea id="order-note" class="short" rows="2" maxlength="2000" value=${note} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setNote(event.currentTarget.value)}></textarea></div>
      <button type="button" class="button main" disabled=${busy} onClick=${order}>${say('orders.make', { orders: counted(draft.orders.length, 'order') })}</button>`
    }
    ${draft.over.length > 0 && html`<details class="points"><summary>${say('orders.over')}</summary><p class="muted">${say('orders.over-about')}</p><ul class="step-lines">${draft.over.map(({ item, code, pieces }) => html`<li key=${item}>${say('orders.over-line', { code, pieces: counted(pieces, 'piece') })}</li>`)}</ul></details>`}
    <${Problem} error=${error} />
  </section>`;
}

/** @param {{floors: string[], wanted: Wanted, onChange: (wanted: Wanted) => void}} props */
function Days({ floors, wanted, onChange }) {
  /** @param {string} floor */
  const typed = (floor) => (/** @type {EventOf<HTMLInputElement>} */ event) =>
    onChange({ ...wanted, floors: { ...wanted.floors, [floor]: event.currentTarget.value } });
  return html`<fieldset class="plain-set"><legend class="strong">${say('orders.wanted')}</legend>
    <div class="side-by-side">
      <label class="field"><span class="label">${say('orders.wanted-all')}</span>
        <input type="date" value=${wanted.on} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...wanted, on: event.currentTarget.value })} /></label>
      ${floors.map((floor) => html`<label class="field" key=${floor}><span class="label">${floor || '–'}</span><input type="date" value=${wanted.floors[floor] ?? ''} onChange=${typed(floor)} /></label>`)}
    </div></fieldset>`;
}

/** @param {{draft: DraftOrder, release: number}} props */
function DraftTold({ draft, release }) {
  const { supplier, against, lines, figures } = draft;
  return html`<section class="stack" aria-label=${supplier || say('orders.supplier-not-said')}>
    <h3>${supplier || say('orders.supplier-not-said')} <${Mark}>${choiceText(draft.sort)}<//></h3>
    ${against !== null && html`<p class="muted">${say('orders.between', { against, release })}</p>`}
    <${Lines} of=${supplier || say('orders.supplier-not-said')} lines=${lines} figures=${figures} />
  </section>`;
}

/** @param {{of: string, lines: Array<OrderLine & {good?: number, left?: number}>, figures?: OrderFigures}} props */
function Lines({ of, lines, figures }) {
  const prices = new Map(figures?.lines.map((each) => [each.item, each]));
  const rows = lines.map((line) => [
    html`<span class="part-code">${line.code}</span>`,
    line.supplier_number ?? say('orders.not-said'),
    choiceText(line.change),
    number(line.pieces),
    say('ordering.packs-of', { packs: line.packs, pack_size: line.pack_size }),
    line.wanted_on ?? '',
    line.lead_days === undefined ? say('orders.not-said') : counted(line.lead_days, 'day'),
    [...line.floors.map(({ floor, pieces }) => `${floor || '–'}: ${number(pieces)}`), ...beside(line)].join(
      ', ',
    ),
    ...(line.good === undefined ? [] : [say('orders.came-left', { good: line.good, left: line.left })]),
    ...(figures ? [number(prices.get(line.item)?.price, 2), number(prices.get(line.item)?.sum, 2)] : []),
  ]);
  const heads = [
    ...['item', 'their-number', 'change', 'pieces', 'packs', 'wanted-on', 'lead', 'where'],
    ...(lines[0]?.good === undefined ? [] : ['came']),
    ...(figures ? ['each', 'sum'] : []),
  ].map((name) => say(`orders.head-${name}`));
  const last = heads.length - 1;
  return html`${figures && html`<p class="strong">${say('orders.together', { sum: sumText(figures) })}</p>`}
    <${Fold} title=${say('orders.lines-counted', { lines: counted(lines.length, 'line') })}><${Table} caption=${say('orders.lines-of', { of })} heads=${heads} rows=${rows} numbers=${figures ? [3, last - 1, last] : [3]} stacks /><//>`;
}

/** Pieces of a line that are for no floor. @param {OrderLine} line */
const beside = ({ spare, for_misfits, left_over }) =>
  Object.entries({ spare, for_misfits, left_over })
    .filter(([, pieces]) => pieces !== 0)
    .map(([name, pieces]) => say(`orders.beside-${name}`, { pieces: number(pieces) }));

/** One order. @param {{site: Site, params: {order: string}}} props */
export function Order({ site, params }) {
  const read = useLive(() => readOrders(site), [site.id]);
  const order = read?.orders.find(({ record }) => record.id === params.order);
  const release = (/** @type {string | undefined} */ id) => read?.releases.get(id ?? '');
  return html`<${Desk} site=${site} at="/orders" back=${`/s/${site.id}/desk/orders`} title=${order ? titleOfOrder(order) : say('place.orders')}>
    ${read && !order && html`<p class="notice">${say('orders.unknown')}</p>`}
    ${order && html`<${OrderTold} site=${site} order=${order} barred=${barredIn(order, read?.barred ?? new Map())} figures=${read?.figures.get(order.record.id)} release=${release(facet(order.record, 'identity').release)} against=${release(facet(order.record, 'identity').against)} />`}
  <//>`;
}

/** @param {{site: Site, order: OrderState, barred: ReturnType<typeof barredIn>, figures?: OrderFigures, release?: number, against?: number}} props */
function OrderTold({ site, order, barred, figures, release, against }) {
  const { record, state, note, wantedOn } = order;
  const at = `/api/sites/${site.id}/orders/${record.id}`;
  const { made_at: made = '', content = '' } = facet(record, 'identity');
  const [language, setLanguage] = useState(OWN);
  const [saved, setSaved] = useState(/** @type {string | null} */ (null));
  return html`
    <section class="card" aria-label=${titleOfOrder(order)}>
      <p><${Mark} look=${lookOf(state)}>${choiceText(state)}<//> <${Mark}>${choiceText(order.sort)}<//></p>
      ${barred.map(({ code, how, reason, left }) => html`<p class="notice bad" role="note" key=${code}>${say(`orders.barred-${how}`, { code, reason, pieces: left })}</p>`)}
      ${has(record, 'cancelled') && html`<p class="strong">${say('orders.cancelled-because', { reason: facet(record, 'cancelled').reason ?? '' })}</p>`}
      <${Facts} facts=${[
        [say('orders.made-on'), timeText(made)],
        [
          say('orders.for-release'),
          against ? say('orders.between', { against, release: release ?? '' }) : number(release),
        ],
        [say('orders.wanted'), wantedOn || say('orders.not-said')],
        ...(note ? [[say('orders.note'), note]] : []),
        [say('orders.fingerprint'), html`<span class="part-code">${content.slice(0, 16)}</span>`],
      ]} />
      <${PaperLanguage} id="order-language" value=${language} onChange=${setLanguage} />
      <div class="side-by-side">
        ${['pdf', 'xlsx', 'csv'].map((form) => html`<a class="button" key=${form} href=${inLanguage(`${at}.${form}`, language)} download>${say(`orders.as-${form}`)}</a>`)}
        ${state !== 'cancelled' && order.ordered > 0 && html`<a class="button" href=${`/s/${site.id}/receive/${record.id}`}>${say('place.receive')}</a>`}
      </div>
    </section>
    <section class="card" aria-label=${say('orders.lines')}><h2>${say('orders.lines')}</h2><${Lines} of=${titleOfOrder(order)} lines=${order.lines} figures=${figures} /></section>
    ${order.came.length > 0 && html`<section class="card" aria-label=${say('orders.deliveries')}><h2>${say('orders.deliveries')}</h2>${order.lines.filter(({ over }) => over > 0).map(({ item, code, over }) => html`<p class="notice" role="note" key=${item}>${say('orders.over-came', { code, pieces: over })}</p>`)}<ul class="step-lines">${order.came.map((came) => html`<li key=${came.record.id}>${came.slip}: ${cameText(order, came)}</li>`)}</ul></section>`}
    <${Facet} key=${`sent ${facet(record, 'sent').sent_on ?? ''}`} site=${site} order=${record} name="sent" saved=${saved === 'sent'} onSaved=${() => setSaved('sent')} />
    ${state !== 'cancelled' && html`<details class="points"><summary>${say('orders.cancel')}</summary><p class="muted">${say('orders.cancel-about')}</p><${Facet} site=${site} order=${record} name="cancelled" saved=${saved === 'cancelled'} onSaved=${() => setSaved('cancelled')} /></details>`}`;
}

/**
 * A facet of an order by form. That it was saved is kept above it: what is saved begins the form anew.
 *
 * @param {{site: Site, order: RecordView<'order'>, name: 'sent' | 'cancelled', saved: boolean, onSaved: () => void}} props
 */
function Facet({ site, order, name, saved, onSaved }) {
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const open = async () => setForm(await site.form(order.id, name));
  useEffect(() => {
    open();
  }, []);
  if (!form || !mayWrite(site, 'order', name)) return null;
  const { fields, title } = site.spec.records.order.facets[name];
  const kept = `${order.id}.${name}`;
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    await site.save([{ record: order.id, type: 'order', facet: name, value, seen }]);
    draftOf(site.id, kept).forget();
    await open();
    onSaved();
  };
  return html`<section class="card" aria-label=${title}><h2>${title}</h2>
    <${KeptForm} site=${site} name=${kept} seen=${form.seen} onSave=${save} form=${{ fields, value: form.value, together: (/** @type {Value} */ value) => notDays(fields, ['sent_on', 'promised_on'], value) }}>${saved && html`<p role="status" class="strong">${say('orders.saved')}</p>`}<//>
  </section>`;
}
