// Stock as screens read it: what was ordered and came, what is fitted, what the groups in work still want.

import { fittedItems, releasedAt } from '../../rules/installing/as_fitted.js';
import { byPlace } from '../../rules/installing/outcomes.js';
import { stockOf } from '../../rules/ordering/stock.js';
import { facet, fixturesOf } from '../../rules/survey.js';
import { readDay } from '../today/read_day.js';
import { barredItems, orderedOf, ordersOf } from './orders.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** @typedef {import('../today/read_day.js').Day} Day */
/** @typedef {import('./orders.js').OrderState} OrderState */
/** @typedef {{code: string, name: string}} Named */
/** Item by code, and what each item is called. @typedef {{ids: Map<string, string>, items: Map<string, Named>}} Names */
/** @typedef {{stock: import('../../rules/ordering/stock.js').Stock, orders: OrderState[], names: Names, kept: Set<string>, jobs: Map<string, Job>, barred: Map<string, import('./orders.js').Barred>}} StockRead `kept`: rooms; `jobs`: by group */

/** @param {Site} site @returns {Promise<StockRead>} */
export async function readStock(site) {
  return stockOfDay(await readDay(site));
}

/** @param {Day} day @returns {StockRead} */
export function stockOfDay({ survey, jobs, floors }) {
  const orders = ordersOf(survey);
  const names = namesOf(survey, orders);
  const idOf = (/** @type {string} */ code) => names.ids.get(code) ?? code;
  const kept = new Set(
    /** @type {RecordView<'reservation'>[]} */ (survey.ofType('reservation'))
      .filter((each) => facet(each, 'identity').kept)
      .map(({ parent }) => parent ?? ''),
  );
  const claims = jobs.map((job) => ({
    room: job.room.id,
    group: job.group.id,
    kept: kept.has(job.room.id),
    wants: byItem(
      job.left.flatMap((position) => releasedIn(job, position)),
      idOf,
    ),
  }));
  const moves = /** @type {RecordView<'stock_move'>[]} */ (survey.ofType('stock_move')).map((each) => {
    const { item = '', move = '', pieces = 0 } = facet(each, 'identity');
    return { item, move, pieces };
  });
  const used = byItem(
    [...floors.flatMap((floor) => floor.jobs).flatMap((job) => usedIn(survey, job)), ...fromSpares(survey)],
    idOf,
  );
  const came = orders.flatMap((order) => order.came);
  const stock = stockOf(orderedOf(orders), came, moves, used, claims);
  const barred = barredItems(survey);
  return { stock, orders, names, kept, jobs: new Map(jobs.map((job) => [job.group.id, job])), barred };
}

/** @param {Job} job @param {number} position */
const releasedIn = (job, position) => releasedAt(job.conversion, position, fixturesOf(job.group));

/** What went into the fixtures that are done: as it was said, else as it was released. @param {import('../../rules/survey.js').Survey} survey @param {Job} job */
function usedIn(survey, job) {
  return [...job.told]
    .filter(([, { outcome }]) => outcome === 'done')
    .flatMap(([position, { record }]) => {
      const under = /** @type {RecordView<'conversion'> | undefined} */ (
        survey.get(facet(record, 'identity').conversion ?? null)
      );
      const released = releasedAt(under ?? job.conversion, position, fixturesOf(job.group));
      return fittedItems(record, released) ?? released;
    });
}

/** What was taken from the spares for failures since. @param {import('../../rules/survey.js').Survey} survey */
export const fromSpares = (survey) =>
  /** @type {RecordView<'failure'>[]} */ (survey.ofType('failure')).flatMap((each) => {
    const { how, item = '', number = 1 } = facet(each, 'replaced');
    return how === 'from-spares' && item ? [{ code: item, number }] : [];
  });

/** @param {Array<{code: string, number: number}>} parts @param {(code: string) => string} idOf @returns {Record<string, number>} */
function byItem(parts, idOf) {
  /** @type {Record<string, number>} */
  const found = {};
  for (const { code, number } of parts) found[idOf(code)] = (found[idOf(code)] ?? 0) + number;
  return found;
}

/** What items were called when they were released and ordered, the newest word last. @param {import('../../rules/survey.js').Survey} survey @param {OrderState[]} orders @returns {Names} */
function namesOf(survey, orders) {
  const ids = new Map();
  /** @type {Map<string, Named>} */
  const items = new Map();
  /** @param {string} item @param {string} code @param {string} name */
  const note = (item, code, name) => {
    ids.set(code, item);
    items.set(item, { code, name: name || (items.get(item)?.name ?? '') });
  };
  for (const record of survey.ofType('catalogue_item')) {
    const { code = '', name = '' } = facet(/** @type {RecordView<'catalogue_item'>} */ (record), 'identity');
    note(record.id, code, name);
  }
  for (const release of /** @type {RecordView<'release'>[]} */ ([...survey.ofType('release')].sort(byPlace)))
    for (const [item, { code }] of Object.entries(
      /** @type {Record<string, {code: string}>} */ (facet(release, 'identity').items ?? {}),
    ))
      note(item, code, '');
  for (const { lines } of [...orders].reverse())
    for (const { item, code, name = '' } of lines) note(item, code, name);
  return { ids, items };
}

/** What an item is called. @param {Names} names @param {string} item */
export const codeOf = (names, item) => names.items.get(item)?.code ?? item;
