// Where a record's screen is, and what it is called.
import { say } from './words.js';

/** @type {{[T in RecordType]?: (record: ViewRecord<T>) => string | undefined}} */
const TITLES = {
  floor: ({ facets }) => facets.identity?.name,
  panel: ({ facets }) => facets.identity?.name,
  room: ({ facets }) => [facets.identity?.number, facets.identity?.name].filter(Boolean).join(' '),
  kind: ({ facets }) => [facets.identity?.mark, facets.identity?.title].filter(Boolean).join(' '),
  group: ({ facets }) =>
    facets.identity?.note ||
    [say('survey.fixture-group'), facets.count?.count && `× ${facets.count.count}`].filter(Boolean).join(' '),
  site: ({ facets }) => facets.identity?.name,
  catalogue_item: ({ facets }) => facets.identity?.code,
  order: ({ facets }) =>
    say('orders.title-of', {
      number: facets.identity?.number ?? '',
      supplier: facets.identity?.supplier || say('orders.supplier-not-said'),
    }),
  delivery: ({ facets }) => facets.identity?.slip,
  programme: ({ facets }) => facets.identity?.name,
  figure: ({ facets }) => [facets.identity?.row, facets.identity?.figure].filter(Boolean).join(', '),
};

/** What a record is called, where it has a name. @param {ViewRecord} record @returns {string | undefined} */
export function nameOf(record) {
  const title = /** @type {((record: ViewRecord) => string | undefined) | undefined} */ (
    TITLES[/** @type {RecordType} */ (record.type)]
  );
  return title?.(record);
}

/** What a record is called. @param {ViewRecord} record @returns {string} */
export function titleOf(record) {
  return nameOf(record) || say('page.without-a-name', { type: record.type.replace('_', ' ') });
}

/** What a site is called that the server's list has no more. @param {Site} site */
export async function nameOfGone(site) {
  const own = await site.get(site.id);
  return site.name || (own ? titleOf(own) : say('gone.title'));
}

/** @type {Record<string, (site: string, record: ViewRecord) => string>} */
const PATHS = {
  floor: (site, { id }) => `/s/${site}/floor/${id}`,
  panel: (site, { id }) => `/s/${site}/panel/${id}`,
  room: (site, { id }) => `/s/${site}/room/${id}`,
  kind: (site, { id }) => `/s/${site}/kind/${id}`,
  group: (site, { id }) => `/s/${site}/group/${id}`,
  cavity_reading: (site, { parent }) => `/s/${site}/group/${parent}`,
  catalogue_item: (site, { id }) => `/s/${site}/desk/catalogue/item/${id}`,
  price: (site, { parent }) => `/s/${site}/desk/catalogue/item/${parent}`,
  order: (site, { id }) => `/s/${site}/receive/${id}`,
  delivery: (site, { parent }) => `/s/${site}/receive/${parent}`,
  stock_move: (site) => `/s/${site}/stock`,
  reservation: (site) => `/s/${site}/stock`,
  figure: (site) => `/s/${site}/desk/figures`,
  own_row: (site, { id }) => `/s/${site}/desk/figures/row/${id}`,
  lux_reading: (site, { parent }) => `/s/${site}/room/${parent}`,
  photo: (site, { id }) => `/s/${site}/photo/${id}`,
};

/** The screen that shows a record. @param {Site} site @param {ViewRecord} record */
export function parentPath(site, record) {
  return PATHS[record.type]?.(site.id, record) ?? `/s/${site.id}`;
}

/** Types of record that go on when a site is closed; a photo only as evidence of a failure. */
const GO_ON = new Set(['failure', 'claim_step', 'function_test', 'emergency_test']);

/**
 * Whether who is signed in may write a facet, as the spec says; the server decides again. On a closed site only what
 * a building needs for as long as it stands.
 *
 * @param {Site} site @param {string} type @param {string} [facet]
 * @returns {boolean}
 */
export const mayWrite = (site, type, facet = 'identity') =>
  (!site.entry.archived_at || GO_ON.has(type)) &&
  site.spec.records[type]?.facets[facet]?.write.includes(site.role) === true;

/** Whether who is signed in may attach a letter about a claim: on a closed site too. @param {Site} site */
export const mayAttachLetters = (site) =>
  site.spec.records.attachment?.facets.identity.write.includes(site.role) === true;

/** Whether who is signed in may take photos of rooms, kinds and fixtures: a facility manager adds them to failures alone. @param {Site} site */
export const mayTakePhotos = (site) => mayWrite(site, 'photo') && mayRead(site, 'installation');

/** Whether who is signed in may read records of a type. @param {Site} site @param {string} type @returns {boolean} */
export const mayRead = (site, type) => site.spec.records[type]?.read.includes(site.role) ?? false;
