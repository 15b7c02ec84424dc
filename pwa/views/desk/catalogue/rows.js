// Which items stand in a table of the catalogue, under which columns, found and sorted how? No screen, no storage.

/** @typedef {{item: RecordView<'catalogue_item'>, price: RecordView<'price'> | undefined}} ItemRow */
/** @typedef {{type: 'catalogue_item' | 'price', facet: string, field: string}} Column */
/** @typedef {'usable' | 'retired' | 'recalled' | 'not-offered'} State */
/** @typedef {{by: number, down: boolean}} Order which column (-1: the code), and whether the largest comes first */

/** Sorts of item, each with the facet that says what it is. @type {Record<string, string>} */
export const SORTS = {
  bar: 'bar',
  driver: 'driver',
  accessory: 'accessory',
  'wiring-part': 'wiring_part',
};

/** @param {string} facet @param {string[]} fields @returns {Column[]} */
const ofItem = (facet, ...fields) => fields.map((field) => ({ type: 'catalogue_item', facet, field }));

/** @type {Record<string, Column[]>} */
const TELLING = {
  bar: ofItem('bar', 'length_ticks', 'rated_ma', 'lumens_per_w'),
  driver: ofItem('driver', 'watts', 'outputs', 'volts_max'),
  accessory: ofItem('accessory', 'purpose', 'watts'),
  'wiring-part': ofItem('wiring_part', 'purpose', 'sold_by'),
};

/** Columns of a sort's table, beside code and state. @param {string} sort @returns {Column[]} */
export const columnsOf = (sort) => [
  ...ofItem('identity', 'name'),
  ...TELLING[sort],
  { type: 'price', facet: 'identity', field: 'each' },
  ...ofItem('supply', 'supplier', 'supplier_number', 'pack_size', 'lead_days'),
];

/** What a cell holds. @param {ItemRow} row @param {Column} column @returns {unknown} */
export function cellValue({ item, price }, { type, facet, field }) {
  const record = /** @type {RecordView | undefined} */ (type === 'price' ? price : item);
  return record?.facets[facet]?.[field];
}

/** Whether an item may be planned with, and if not, why. @param {ViewRecord<'catalogue_item'>} item @returns {State} */
export function stateOf({ facets }) {
  if (Object.keys(facets.recall ?? {}).length > 0) return 'recalled';
  if (facets.retired?.retired === true) return 'retired';
  return facets.identity?.offered === false ? 'not-offered' : 'usable';
}

/**
 * Each item with its price.
 *
 * @param {RecordView<'catalogue_item'>[]} items @param {RecordView<'price'>[]} prices
 * @returns {ItemRow[]}
 */
export function rowsOf(items, prices) {
  const byItem = new Map(prices.map((price) => [price.parent, price]));
  return items.map((item) => ({ item, price: byItem.get(item.id) }));
}

/**
 * The rows that hold every wanted word, of one sort and state, in order.
 *
 * @param {ItemRow[]} rows
 * @param {{sort: string, state: State | 'all', wanted: string, order: Order}} how
 * @param {(column: Column, value: unknown) => string} text how a cell is read
 * @returns {ItemRow[]}
 */
export function found(rows, { sort, state, wanted, order }, text) {
  const columns = columnsOf(sort);
  const words = wanted.toLowerCase().split(/\s+/).filter(Boolean);
  /** @param {ItemRow} row */
  const read = (row) =>
    [row.item.facets.identity?.code, ...columns.map((column) => text(column, cellValue(row, column)))]
      .join(' ')
      .toLowerCase();
  /** @param {ItemRow} row */
  const holds = (row) => {
    const said = words.length > 0 ? read(row) : '';
    return words.every((word) => said.includes(word));
  };
  return rows
    .filter(({ item }) => item.facets.identity?.item === sort && (state === 'all' || stateOf(item) === state))
    .filter(holds)
    .sort(inOrder(columns[order.by], order.down));
}

/** What is not said stands last, whichever way; equal ones by code. @param {Column | undefined} column @param {boolean} down */
function inOrder(column, down) {
  const code = (/** @type {ItemRow} */ { item }) => item.facets.identity?.code ?? '';
  const value = (/** @type {ItemRow} */ row) => (column ? cellValue(row, column) : code(row));
  return (/** @type {ItemRow} */ a, /** @type {ItemRow} */ b) => {
    const [one, other] = [value(a), value(b)];
    if (one === undefined || other === undefined)
      return Number(one === undefined) - Number(other === undefined) || byText(code(a), code(b));
    const way =
      typeof one === 'number' && typeof other === 'number' ? one - other : byText(String(one), String(other));
    return (down ? -way : way) || byText(code(a), code(b));
  };
}

/** @param {string} a @param {string} b */
const byText = (a, b) => a.localeCompare(b, undefined, { numeric: true });
