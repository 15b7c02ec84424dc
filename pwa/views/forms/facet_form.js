// The generated form of a facet: its fields from the spec, their checks, and one button that saves.

import { useEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { canBeTyped, FieldInput } from '../inputs/fields.js';
import { Problem } from '../parts/parts.js';
import { checkFields } from './field_checks.js';
import { notSaved, Sections } from './sections.js';
import { say } from '../words.js';

/** @typedef {import('./field_checks.js').Field} Field */
/** @typedef {import('./field_checks.js').Problem} ProblemOf */
/** @typedef {import('./sections.js').Section} Section */

/**
 * @param {object} props
 * @param {Record<string, Field>} props.fields
 * @param {Value} props.value what it shows when it opens
 * @param {(value: Value) => Promise<unknown>} props.onSave throws when it was not saved
 * @param {'in' | 'mm'} [props.units]
 * @param {string} [props.save] word on the button
 * @param {Section[]} [props.sections] fields that stand together, to be folded; all of them, below one another, without it
 * @param {(value: Value) => Record<string, ProblemOf>} [props.together] which fields do not go together, each right by itself
 * @param {(value: Value) => Record<string, ProblemOf>} [props.mind] what is to be said of a field at once, and hinders nobody
 * @param {import('../drafts.js').KeptDraft<Value>} [props.draft] where what is typed is kept until it is saved
 * @param {string} [props.form] id of the form, where its button stands elsewhere: at the foot of the page
 * @param {Child} [props.children] stands above the button
 */
export function FacetForm({
  fields,
  value,
  onSave,
  units = 'in',
  save = say('page.save'),
  together = () => ({}),
  mind = () => ({}),
  sections,
  draft,
  form: elsewhere,
  children,
}) {
  const [now, setNow] = useState(draft?.at ?? value);
  const [half, setHalf] = useState(/** @type {import('../drafts.js').HalfTyped} */ (draft?.halfTyped ?? {}));
  const unread = Object.fromEntries(Object.entries(half).map(([name, { problem }]) => [name, problem]));
  const [wrong, setWrong] = useState(/** @type {Record<string, ProblemOf>} */ ({}));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saving, setSaving] = useState(false);
  const [tries, setTries] = useState(0);
  const form = useRef(/** @type {HTMLFormElement | null} */ (null));
  // Save stands below the fields: what is wrong above it must not stay out of sight.
  useEffect(() => {
    form.current?.querySelector('.problem')?.scrollIntoView({ block: 'center' });
  }, [tries]);

  /** @param {string} name @param {unknown} next @param {ProblemOf | null} [problem] @param {string} [text] */
  const change = (name, next, problem, text = '') => {
    setNow((before) => {
      const after = withField(before, name, next);
      draft?.keep(after);
      return after;
    });
    setHalf((before) => {
      const after = withField(before, name, problem ? { text, problem } : undefined);
      draft?.keepHalfTyped(after);
      return after;
    });
    setWrong((before) => withField(before, name, undefined));
  };
  const minded = mind(now);
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const alone = { ...withoutNewerChoices(checkFields(fields, now), now, value), ...unread };
    const found = Object.keys(alone).length > 0 ? alone : together(now);
    setWrong(found);
    setError(null);
    if (Object.keys(found).length > 0) {
      setTries(tries + 1);
      return;
    }
    setSaving(true);
    try {
      await onSave(now);
      draft?.forget();
    } catch (problem) {
      setError(problem);
    }
    setSaving(false);
  };
  const typed = Object.keys(fields).filter((name) => canBeTyped(fields[name]));
  /** @param {string} name */
  const input = (
    name,
  ) => html`<${FieldInput} key=${name} name=${name} field=${fields[name]} value=${now[name]} units=${units}
    problem=${wrong[name] ?? minded[name] ?? null} halfTyped=${half[name]?.text}
    onChange=${(/** @type {unknown} */ next, /** @type {ProblemOf | null | undefined} */ problem, /** @type {string | undefined} */ text) => change(name, next, problem, text)} />`;
  const placed = new Set(sections?.flatMap((section) => section.fields));
  const said = new Set([...Object.keys(wrong), ...Object.keys(minded), ...Object.keys(half)]);
  return html`<form class="stack" id=${elsewhere} ref=${form} onSubmit=${submit} novalidate>
    ${sections && html`<${Sections} sections=${sections} fields=${fields} value=${now} said=${said} unsaved=${notSaved(value, now, Object.keys(half))} tries=${tries} input=${input} />`}
    ${typed.filter((name) => !placed.has(name)).map(input)}
    ${children}
    <${Problem} error=${error} />
    ${elsewhere === undefined && html`<button class="button main wide" disabled=${saving}>${save}</button>`}
  </form>`;
}

/**
 * A choice that a newer app made, and nobody has touched here, stays as it is.
 *
 * @param {Record<string, ProblemOf>} wrong @param {Value} now @param {Value} before
 */
function withoutNewerChoices(wrong, now, before) {
  const kept = Object.entries(wrong).filter(
    ([name, { code }]) =>
      code !== 'field.no-choice' || JSON.stringify(now[name]) !== JSON.stringify(before[name]),
  );
  return Object.fromEntries(kept);
}

/** @template T @param {Record<string, T>} all @param {string} name @param {T | undefined} value @returns {Record<string, T>} */
function withField(all, name, value) {
  const { [name]: _, ...others } = all;
  return value === undefined ? others : { ...others, [name]: value };
}
