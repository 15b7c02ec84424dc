// Is what was typed right for its field? The table of field types as tests. Twin: server/spanwalk/records/field_types.py.

/**
 * A row of the table `field_types` of the spec; what its attributes mean stands with the twin's `FieldType`.
 *
 * @typedef {object} FieldType
 * @property {string} json string, integer, number, boolean, array or any
 * @property {number} [letters]
 * @property {string} [pattern]
 * @property {boolean} [chosen]
 * @property {number} [decimals]
 * @property {string} [items]
 * @property {FieldType} [item] the row of `items`
 * @property {boolean} [ticks]
 * @property {boolean} [points]
 * @property {string} [example]
 * @property {string} [input]
 *
 * A field of the spec.
 *
 * @typedef {object} Field
 * @property {string} type
 * @property {FieldType} of the row of its type
 * @property {string} title
 * @property {string} [help]
 * @property {string} [unit]
 * @property {number} [min]
 * @property {number} [max]
 * @property {string[]} [choices]
 * @property {boolean} [required]
 *
 * @typedef {{code: string, facts: Facts}} Problem
 * @typedef {(field: Field, value: any) => Problem | null} Check what it is given is what it finds out: any
 */

/** What no store keeps: NUL, and half of a surrogate pair. */
const NOT_KEPT = /[\0\ud800-\udfff]/u;

/** @type {Record<string, Check>} */
const CHECKS = {
  string: checkText,
  integer: checkNumber,
  number: checkNumber,
  boolean: () => null,
  array: checkList,
  any: () => null,
};

/** @type {Check} */
function checkText({ title, max, choices, of }, value) {
  if (of.chosen) {
    return choices?.includes(value) ? null : { code: 'field.no-choice', facts: { title, value, choices } };
  }
  if (of.pattern) {
    const like = new RegExp(`^(?:${of.pattern})$`).test(value);
    return like ? null : { code: 'field.unlike', facts: { title, value, example: of.example } };
  }
  const most = max ?? of.letters ?? 0;
  const letters = [...value].length;
  if (letters > most) return { code: 'field.too-many-letters', facts: { title, value: letters, max: most } };
  return NOT_KEPT.test(value) ? { code: 'field.not-kept', facts: { title } } : null;
}

/** @type {Check} */
function checkNumber(field, value) {
  const { title, of } = field;
  if (of.json === 'integer' && !Number.isInteger(value))
    return { code: 'field.not-whole', facts: { title, value } };
  if (of.decimals !== undefined && Number(value.toFixed(of.decimals)) !== value) {
    return { code: 'field.too-fine', facts: { title, value, decimals: of.decimals } };
  }
  return outside(field, value);
}

/** Limits of a length are said as lengths. @type {Check} */
function outside({ title, min, max, of }, value) {
  const side = min !== undefined && value < min ? 'small' : max !== undefined && value > max ? 'large' : null;
  if (!side) return null;
  const limit = side === 'small' ? { min } : { max };
  if (!of.ticks) return { code: `field.too-${side}`, facts: { title, value, ...limit } };
  const ticks = Object.fromEntries(Object.entries(limit).map(([name, each]) => [`${name}_ticks`, each]));
  return { code: `field.too-${side}-length`, facts: { title, value_ticks: value, ...ticks } };
}

/** @type {Check} */
function checkList(field, value) {
  const each = { ...field, of: /** @type {FieldType} */ (field.of.item) };
  for (const item of value) {
    const found = CHECKS[each.of.json](each, item);
    if (found) return found;
  }
  const twice = /** @type {unknown[]} */ (value).find((item, place) => value.indexOf(item) < place);
  return twice === undefined ? null : { code: 'field.twice', facts: { title: field.title, value: twice } };
}

/**
 * What is wrong with a field's value; null when it is right. Absent is right unless it is required.
 *
 * @param {Field} field @param {unknown} value
 * @returns {Problem | null}
 */
export function checkField(field, value) {
  if (value === undefined || value === '') {
    return field.required ? { code: 'field.missing', facts: { title: field.title } } : null;
  }
  return CHECKS[field.of.json](field, value);
}

/**
 * What is wrong with each field of a facet's value, by field; empty when all is right.
 *
 * @param {Record<string, Field>} fields @param {Value} value
 * @returns {Record<string, Problem>}
 */
export function checkFields(fields, value) {
  /** @type {Record<string, Problem>} */
  const wrong = {};
  for (const [name, field] of Object.entries(fields)) {
    const found = checkField(field, value[name]);
    if (found) wrong[name] = found;
  }
  return wrong;
}
