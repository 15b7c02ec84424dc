// Days that are typed as text, year first: whether they are days at all.

/** @typedef {import('./field_checks.js').Field} Field */
/** @typedef {import('./field_checks.js').Problem} Problem */

const EXAMPLE = '2026-03-01';

/** Whether a text is a day of the calendar as 2026-03-01. @param {string} text */
export function isDay(text) {
  const at = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(at.getTime()) && at.toISOString().slice(0, EXAMPLE.length) === text;
}

/**
 * Which of some fields hold what is no day; an empty one is none of this check's.
 *
 * @param {Record<string, Field>} fields @param {string[]} names @param {Value} value
 * @returns {Record<string, Problem>}
 */
export function notDays(fields, names, value) {
  const wrong = names.filter((name) => value[name] && !isDay(String(value[name])));
  return Object.fromEntries(
    wrong.map((name) => [
      name,
      {
        code: 'field.unlike',
        facts: { title: fields[name]?.title ?? name, value: value[name], example: EXAMPLE },
      },
    ]),
  );
}
