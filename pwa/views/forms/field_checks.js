// Is what was typed right for its field? The field checks of the spec, as the server makes them (server/spanwalk/records.py).

const DECIMALS = 1e4;

/**
 * A field of the spec.
 *
 * @typedef {object} Field
 * @property {string} type
 * @property {string} title
 * @property {string} [help]
 * @property {string} [unit]
 * @property {number} [min]
 * @property {number} [max]
 * @property {string[]} [choices]
 * @property {boolean} [required]
 *
 * @typedef {{code: string, facts: Record<string, any>}} Problem
 */

/** @param {Field} field @param {any} value @returns {Problem | null} */
const outside = (field, value) => {
  const { title, min, max } = field;
  if (min !== undefined && value < min) return { code: 'field.too-small', facts: { title, value, min } };
  if (max !== undefined && value > max) return { code: 'field.too-large', facts: { title, value, max } };
  return null;
};

/** The same for a length, whose limits are said as lengths. @param {Field} field @param {number} ticks @returns {Problem | null} */
const lengthOutside = (field, ticks) => {
  const found = outside(field, ticks);
  if (!found) return null;
  const { title, value, min, max } = found.facts;
  const limit = min === undefined ? { max_ticks: max } : { min_ticks: min };
  return { code: `${found.code}-length`, facts: { title, value_ticks: value, ...limit } };
};

/** @type {Record<string, (field: Field, value: any) => Problem | null>} */
const CHECKS = {
  text: letters,
  note: letters,
  integer: (field, value) =>
    Number.isInteger(value)
      ? outside(field, value)
      : { code: 'field.not-whole', facts: { title: field.title, value } },
  decimal: (field, value) =>
    Math.round(value * DECIMALS) / DECIMALS === value
      ? outside(field, value)
      : { code: 'field.too-fine', facts: { title: field.title, value } },
  length: lengthOutside,
};

/** @param {Field} field @param {any} value @returns {Problem | null} */
function letters({ title, max }, value) {
  const tooMany = max !== undefined && value.length > max;
  return tooMany ? { code: 'field.too-many-letters', facts: { title, value: value.length, max } } : null;
}

/**
 * What is wrong with a field's value; null when it is right. Absent is right unless it is required.
 *
 * @param {Field} field @param {any} value
 * @returns {Problem | null}
 */
export function checkField(field, value) {
  if (value === undefined || value === '') {
    return field.required ? { code: 'field.missing', facts: { title: field.title } } : null;
  }
  return CHECKS[field.type]?.(field, value) ?? null;
}

/**
 * What is wrong with each field of a facet's value, by field; empty when all is right.
 *
 * @param {Record<string, Field>} fields @param {Record<string, any>} value
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
