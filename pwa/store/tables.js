// What the page knows before it knows anyone: what a record is, what people read, and the reference tables.

/** Tables that only an opened site needs; they are large. */
const SITE_TABLES = '/app/tables-of-sites.json';
/** Sentences that only an opened site needs. */
const SITE_WORDS = '/app/words-of-sites.json';
/** Sentences that no screen of the walk says. */
const DESK_WORDS = '/app/words-of-desks.json';

/**
 * @typedef {object} Tables
 * @property {{spec: number, field_types: Record<string, import('../views/forms/field_checks.js').FieldType>, records: SpecRecords}} spec
 * @property {Record<string, string>} words
 * @property {Reference} reference
 * @property {string[]} [languages] tags of the languages and regions in which the page can be read
 * @property {Record<string, number>} [lacking] how many sentences a language lacks, where it lacks any
 * @property {Record<string, string>} [instead] what differs in the language or region that is read now
 * @property {Record<string, string>} [first] sentences and titles of the first language, once another was put in their place
 * @property {Set<string>} [added] the further files whose sentences are among `words`
 */

/** @returns {Tables} */
export const noTables = () => ({
  spec: { spec: 1, field_types: {}, records: {} },
  words: {},
  reference: /** @type {Reference} */ ({}),
});

/** @template T @param {typeof fetch} fetcher @param {string} address @returns {Promise<T>} */
async function json(fetcher, address) {
  const response = await fetcher(address);
  if (!response.ok) throw new Error(`${address}: ${response.status}`);
  return response.json();
}

/**
 * What the first screen needs, in one file that the server makes.
 *
 * @param {typeof fetch} fetcher @param {string} base
 * @returns {Promise<Tables>}
 */
export async function loadTables(fetcher, base) {
  const tables = /** @type {Tables} */ (await json(fetcher, `${base}/app/tables.json`));
  return { ...tables, spec: withFieldTypes(tables.spec) };
}

/**
 * The tables and sentences that screens of a site need besides, put where the others are; what does not come is not there.
 *
 * @param {Tables} tables @param {typeof fetch} fetcher @param {string} base
 */
export async function addSiteTables(tables, fetcher, base) {
  const sentences = addWords(tables, SITE_WORDS, fetcher, base).catch(() => {});
  if (!('prediction' in tables.reference)) {
    const come = await json(fetcher, base + SITE_TABLES)
      .then(withSums)
      .catch(() => null);
    Object.assign(tables.reference, come);
  }
  await sentences;
}

/** The factors travel as differences; twin of `site_tables_text` in page_files.py. @param {Pick<Reference, 'prediction' | 'standing'>} come */
const withSums = ({ prediction, ...others }) => ({
  ...others,
  prediction: { ...prediction, factors: /** @type {number[][][]} */ (sums(prediction.factors)) },
});

/** @typedef {number | Numbers[]} Numbers */

/** Each with all before it added, in rows and between them: what `differences` there took apart. @param {Numbers[]} values @returns {Numbers[]} */
export function sums(values) {
  /** @type {Numbers[]} */
  const found = [];
  for (const each of values) {
    const own = typeof each === 'number' ? each : sums(each);
    found.push(found.length > 0 ? plus(found[found.length - 1], own) : own);
  }
  return found;
}

/** @param {Numbers} one @param {Numbers} other @returns {Numbers} */
const plus = (one, other) =>
  typeof one === 'number'
    ? one + Number(other)
    : one.map((each, at) => plus(each, /** @type {Numbers[]} */ (other)[at]));

/**
 * The sentences of all screens but those of the walk.
 *
 * @param {Tables} tables @param {typeof fetch} fetcher @param {string} base
 */
export const addDeskWords = (tables, fetcher, base) => addWords(tables, DESK_WORDS, fetcher, base);

/** @param {Tables} tables @param {string} address @param {typeof fetch} fetcher @param {string} base */
async function addWords(tables, address, fetcher, base) {
  if (tables.added?.has(address)) return;
  const words = /** @type {Record<string, string>} */ (await json(fetcher, base + address));
  if (tables.first) Object.assign(tables.first, words);
  Object.assign(tables.words, words, tables.instead);
  tables.added = new Set(tables.added).add(address);
}

/** The same spec, in which each field has the row of its type at hand as `of`. @param {Tables['spec']} spec */
export function withFieldTypes(spec) {
  const of = itemsResolved(spec.field_types);
  for (const { facets } of Object.values(spec.records)) {
    for (const { fields } of Object.values(facets)) {
      for (const field of Object.values(fields)) field.of = of[field.type];
    }
  }
  return spec;
}

/** The rows of the table; that of a list has the row of its items at hand. @param {Tables['spec']['field_types']} types */
const itemsResolved = (types) =>
  Object.fromEntries(
    Object.entries(types).map(([name, row]) => [
      name,
      { ...row, item: row.items ? types[row.items] : undefined },
    ]),
  );

/**
 * Where a record's values point: every reference, and what it is looked up by.
 *
 * @param {Tables['spec']} spec
 * @returns {import('../storage/records.js').Pointers}
 */
export function pointersOf(spec) {
  /** @type {import('../storage/records.js').Pointers} */
  const pointers = { refs: {}, lookups: { label: ['identity', 'code'] } };
  for (const [type, { facets }] of Object.entries(spec.records)) {
    const refs = Object.entries(facets).flatMap(([facet, { fields }]) =>
      Object.entries(fields)
        .filter(([, field]) => field.of?.points)
        .map(([name]) => /** @type {[string, string]} */ ([facet, name])),
    );
    if (refs.length > 0) pointers.refs[type] = refs;
  }
  return pointers;
}

/**
 * A sentence with its facts in it; the code itself where there is no sentence.
 *
 * @param {Record<string, string>} words @param {string} code @param {Facts} [facts]
 */
export function sentence(words, code, facts = {}) {
  const told = words[code] ?? code;
  return told.replace(/\{(\w+)\}/g, (whole, name) => (name in facts ? String(facts[name]) : whole));
}

/** The language that every sentence is written in. */
export const FIRST_LANGUAGE = 'en';
/** Stands in the words of a language until somebody of the trade who speaks it has read them. */
const NOT_REVIEWED = 'notice.not-reviewed';

/** Where the words of another language or region lie, under the server's own address. @param {string} language */
export const wordsAddress = (language) => `/app/words/${language}.json`;

/** Whether somebody of the trade has read the words that are read now. @param {Tables} tables */
export const isReviewed = (tables) => !(NOT_REVIEWED in (tables.instead ?? {}));

/**
 * Put the sentences and titles of a language or region in the place of the first one's; without a signal, and where they
 * are not kept on this phone, what is there stays.
 *
 * @param {Tables} tables @param {string | null | undefined} language a tag of `tables.languages`, as 'en-GB'
 * @param {typeof fetch} fetcher @param {string} base
 * @returns {Promise<string>} the tag of what is read now
 */
export async function speak(tables, language, fetcher, base) {
  const wanted = language && tables.languages?.includes(language) ? language : FIRST_LANGUAGE;
  // Nothing was put in the place of the first one's yet: who reads those waits for no list of thousands of titles.
  if (wanted === FIRST_LANGUAGE && !tables.first) return FIRST_LANGUAGE;
  tables.first ??= { ...titlesOf(tables.spec), ...tables.words };
  const instead =
    wanted === FIRST_LANGUAGE ? {} : await json(fetcher, base + wordsAddress(wanted)).catch(() => null);
  if (!instead) return FIRST_LANGUAGE;
  tables.instead = /** @type {Record<string, string>} */ (instead);
  const told = { ...tables.first, ...tables.instead };
  tables.words = told;
  putTitles(tables.spec, told);
  return wanted;
}

/** @typedef {{title?: string, help?: string}} Titled */

/** Every type, facet and field of the spec, by the code of its title. @param {Tables['spec']} spec @returns {Array<[string, Titled]>} */
function titled(spec) {
  /** @type {Array<[string, Titled]>} */
  const found = [];
  for (const [type, record] of Object.entries(spec.records)) {
    found.push([`spec.${type}`, record]);
    for (const [facet, about] of Object.entries(record.facets)) {
      found.push([`spec.${type}.${facet}`, about]);
      for (const [name, field] of Object.entries(about.fields))
        found.push([`spec.${type}.${facet}.${name}`, /** @type {Titled} */ (field)]);
    }
  }
  return found;
}

/** @param {Tables['spec']} spec @returns {Record<string, string>} */
const titlesOf = (spec) =>
  Object.fromEntries(
    titled(spec).flatMap(([code, { title, help }]) => [
      ...(title ? [[code, title]] : []),
      ...(help ? [[`${code}.help`, help]] : []),
    ]),
  );

/** @param {Tables['spec']} spec @param {Record<string, string>} told */
function putTitles(spec, told) {
  for (const [code, about] of titled(spec)) {
    if (about.title) about.title = told[code];
    if (about.help) about.help = told[`${code}.help`];
  }
}
