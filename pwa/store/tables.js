// What the page knows before it knows anyone: what a record is, what people read, and the reference tables.

const REFERENCE = ['lamps', 'instruments', 'expansion', 'prediction', 'combinations', 'standing'];

/**
 * @typedef {object} Tables
 * @property {{spec: number, records: Record<string, any>}} spec
 * @property {Record<string, string>} words
 * @property {Record<string, any>} reference
 */

/** @returns {Tables} */
export const noTables = () => ({ spec: { spec: 1, records: {} }, words: {}, reference: {} });

/**
 * @param {typeof fetch} fetcher @param {string} base
 * @returns {Promise<Tables>}
 */
export async function loadTables(fetcher, base) {
  /** @param {string} path */
  const json = async (path) => {
    const response = await fetcher(`${base}/app/${path}`);
    if (!response.ok) throw new Error(`${path}: ${response.status}`);
    return response.json();
  };
  const [spec, words, ...reference] = await Promise.all([
    json('spec/records.json'),
    json('spec/words.en.json'),
    ...REFERENCE.map((name) => json(`reference/${name}.json`).catch(() => null)),
  ]);
  const named = REFERENCE.map((name, place) => [name, reference[place]]).filter(
    ([, table]) => table !== null,
  );
  return { spec, words, reference: Object.fromEntries(named) };
}

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
      Object.entries(/** @type {Record<string, any>} */ (fields))
        .filter(([, field]) => field.type === 'ref')
        .map(([name]) => /** @type {[string, string]} */ ([facet, name])),
    );
    if (refs.length > 0) pointers.refs[type] = refs;
  }
  return pointers;
}

/**
 * A sentence with its facts in it; the code itself where there is no sentence.
 *
 * @param {Record<string, string>} words @param {string} code @param {Record<string, any>} [facts]
 */
export function sentence(words, code, facts = {}) {
  const told = words[code] ?? code;
  return told.replace(/\{(\w+)\}/g, (whole, name) => (name in facts ? String(facts[name]) : whole));
}
