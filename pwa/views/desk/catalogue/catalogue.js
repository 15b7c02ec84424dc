// The catalogue: tables of items by sort, searched, filtered, sorted and edited in place.

import { useState } from 'preact/hooks';
import { unitText } from '../../coded_text.js';
import { useUnits } from '../../forms/units.js';
import { html } from '../../html.js';
import { useReadAndHeard } from '../../parts/when_heard.js';
import { mayWrite } from '../../record_screens.js';
import { valueText } from '../../surveying/facet_rows.js';
import { lengthIn, say } from '../../words.js';
import { Desk, number } from '../parts.js';
import { Grid } from './grid.js';
import { cellValue, columnsOf, found, rowsOf, SORTS, stateOf } from './rows.js';
import { saveCell } from './save.js';
import { VersionNotice } from './version.js';

/** @typedef {import('./rows.js').ItemRow} ItemRow */
/** @typedef {import('./rows.js').Column} Column */
/** @typedef {import('./rows.js').State} State */
/** @typedef {{sort: string, state: State | 'all', wanted: string, order: import('./rows.js').Order, from: number}} How */

/** Rows in one table: with all columns some 600 elements. */
const ROWS_MOST = 40;
const STATES = /** @type {const} */ (['all', 'usable', 'not-offered', 'retired', 'recalled']);
/** How each site's catalogue was looked at last, for who comes back to it. @type {Map<string, How>} */
const looked = new Map();
/** @type {How} */
const AT_FIRST = { sort: 'bar', state: 'all', wanted: '', order: { by: -1, down: false }, from: 0 };

/** @param {{site: Site}} props */
export function Catalogue({ site }) {
  const held = useReadAndHeard(
    site,
    async () => rowsOf(await site.all('catalogue_item'), await site.all('price')),
    [site.id],
  );
  const rows = held?.read;
  const [how, setHow] = useState(looked.get(site.id) ?? AT_FIRST);
  /** @param {Partial<How>} more */
  const look = (more) => {
    const next = { ...how, from: 0, ...more };
    looked.set(site.id, next);
    setHow(next);
  };
  return html`<${Desk} site=${site} at="/catalogue" title=${say('catalogue.title')}>
    ${!site.isCatalogue && html`<${VersionNotice} site=${site} empty=${held?.heard === true && held.read.length === 0} />`}
    ${rows && html`<${Items} site=${site} rows=${rows} how=${how} onLook=${look} />`}
  <//>`;
}

/** @param {{site: Site, rows: ItemRow[], how: How, onLook: (more: Partial<How>) => void}} props */
function Items({ site, rows, how, onLook }) {
  const units = useUnits(site);
  const columns = columnsOf(how.sort);
  /** @param {Column} column */
  const fieldOf = ({ type, facet, field }) => site.spec.records[type].facets[facet].fields[field];
  /** @param {Column} column @param {unknown} value @returns {string} */
  const text = (column, value) => {
    if (value === undefined) return '';
    const field = fieldOf(column);
    return field.of.ticks
      ? lengthIn(/** @type {number} */ (value), units)
      : valueText({ ...field, unit: undefined }, value);
  };
  const all = found(rows, how, text);
  const shown = all.slice(how.from, how.from + ROWS_MOST);
  const writes = mayWrite(site, 'catalogue_item');
  const gridColumns = [
    ...columns.map((column) => {
      const field = fieldOf(column);
      const unit = field.unit && !field.of.ticks ? ` [${unitText(field.unit)}]` : '';
      return { head: `${field.title}${unit}`, field, number: ['number', 'integer'].includes(field.of.json) };
    }),
    { head: say('catalogue.state'), field: null, number: false },
  ];
  const gridRows = shown.map((row) => ({
    id: row.item.id,
    title: row.item.facets.identity?.code ?? '',
    href: `/s/${site.id}/desk/catalogue/item/${row.item.id}`,
    values: columns.map((column) => cellValue(row, column)),
    texts: [...columns.map((column) => text(column, cellValue(row, column))), stateText(row.item)],
  }));
  return html`
    <div class="chips" role="group" aria-label=${say('catalogue.sorts')}>${Object.keys(SORTS).map(
      (
        sort,
      ) => html`<button type="button" class="button" aria-pressed=${sort === how.sort} onClick=${() => onLook({ sort, order: AT_FIRST.order })}>
        ${say(`catalogue.sort-${sort}`)} (${number(rows.filter(({ item }) => item.facets.identity?.item === sort).length)})</button>`,
    )}</div>
    ${rows.length === 0 && html`<p class="notice">${say('catalogue.empty')} <a href=${`/s/${site.id}/desk/files`}>${say('place.files')}</a></p>`}
    ${
      rows.length > 0 &&
      html`<${Search} how=${how} onLook=${onLook} />
    <p class="help" role="status">${say('catalogue.shown', { from: shown.length ? how.from + 1 : 0, to: how.from + shown.length, of: all.length })}
      ${writes && ` ${say('catalogue.keys')}`}</p>`
    }
    ${
      shown.length > 0 &&
      html`<${Grid} key=${how.sort} caption=${say(`catalogue.sort-${how.sort}`)} first=${say('catalogue.code')} columns=${gridColumns} rows=${gridRows}
      order=${how.order} onOrder=${(/** @type {number} */ by) => onLook({ order: { by, down: how.order.by === by && !how.order.down } })}
      onSave=${writes ? (/** @type {number} */ row, /** @type {number} */ column, /** @type {unknown} */ value) => saveCell(site, shown[row], columns[column], value) : null} units=${units} />`
    }
    <div class="side-by-side">
      ${how.from > 0 && html`<button type="button" class="button" onClick=${() => onLook({ from: Math.max(0, how.from - ROWS_MOST) })}>${say('catalogue.earlier')}</button>`}
      ${how.from + ROWS_MOST < all.length && html`<button type="button" class="button" onClick=${() => onLook({ from: how.from + ROWS_MOST })}>${say('catalogue.later')}</button>`}
      ${writes && html`<a class="button main" href=${`/s/${site.id}/desk/catalogue/new/${how.sort}`}>${say(`catalogue.new-${how.sort}`)}</a>`}
    </div>`;
}

/** @param {{how: How, onLook: (more: Partial<How>) => void}} props */
function Search({ how, onLook }) {
  return html`<search class="catalogue-search">
    <div class="field"><label for="wanted">${say('catalogue.find')}</label>
      <input id="wanted" type="search" autocomplete="off" value=${how.wanted}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onLook({ wanted: event.currentTarget.value })} /></div>
    <div class="field"><label for="state">${say('catalogue.state')}</label>
      <select id="state" onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onLook({ state: /** @type {State} */ (event.currentTarget.value) })}>
        ${STATES.map((state) => html`<option value=${state} selected=${state === how.state}>${say(`catalogue.state-${state}`)}</option>`)}
      </select></div>
  </search>`;
}

/** Whether it may be planned with, and what of it is not sent yet. @param {RecordView<'catalogue_item'>} item */
function stateText(item) {
  const state = stateOf(item);
  const said = state === 'usable' ? [] : [say(`catalogue.state-${state}`)];
  return [...said, ...(Object.keys(item.mine).length > 0 ? [say('catalogue.not-sent')] : [])].join(', ');
}
