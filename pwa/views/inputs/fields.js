// One input for each type of field. What was typed stays as it was typed; only what can be read becomes a value.

import { useId, useState } from 'preact/hooks';
import { formatInches, formatMm, MOST_TICKS, parseLength } from '../../rules/measuring/lengths.js';
import { unitText } from '../coded_text.js';
import { html } from '../html.js';
import { locale, markedText } from '../numbers.js';
import { choiceText, isOfRoom, keptLengthText, say, unitItWentIn, unitTyped } from '../words.js';
import { inOtherText, otherName } from './other_unit.js';
import { notRead, typedFor, unclearInRow } from './typed_number.js';

/** @typedef {import('../forms/field_checks.js').Field} Field */
/** @typedef {import('../forms/field_checks.js').Problem} Problem */

/**
 * @typedef {object} InputProps
 * @property {string} name
 * @property {Field} field
 * @property {any} value undefined: nothing; any: each sort of field has its own, and the spec says which
 * @property {(value: any, unread?: Problem | null, text?: string) => void} onChange `unread`: what was typed is no value; `text`: as it was typed
 * @property {string} [halfTyped] what stood there when the form was left, and is no value yet
 * @property {Problem | null} [problem]
 * @property {'in' | 'mm'} [units]
 * @property {Site} [site]
 */

const MOST_CHIPS = 7;

/** @param {string} text */
const isNumber = (text) => /^-?(\d+(\.\d+)?|\.\d+)$/.test(text);

/** @param {{label: string, id: string, field: Field, problem?: Problem | null, children?: Child}} props */
function Labelled({ label, id, field, problem, children }) {
  return html`<div class="field">
    <label for=${id}>${label}</label>
    ${children}
    ${field.help && html`<p class="help">${field.help}</p>`}
    ${problem && html`<p class="problem" role="alert" id=${`${id}-problem`}>${say(problem.code, problem.facts)}</p>`}
  </div>`;
}

/** @param {Field} field */
const titled = (field) =>
  `${field.title}${field.unit && !field.of.ticks ? ` [${unitText(field.unit)}]` : ''}`;

/** @param {InputProps} props */
function TextInput({ name, field, value, onChange, problem }) {
  const id = useId();
  const tag = field.of.input === 'lines' ? 'textarea' : 'input';
  return html`<${Labelled} label=${titled(field)} id=${id} field=${field} problem=${problem}>
    <${tag} id=${id} name=${name} value=${value ?? ''} autocomplete="off" aria-invalid=${problem ? 'true' : 'false'}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value.trim() ? event.currentTarget.value : undefined)} />
  <//>`;
}

/** @param {InputProps} props */
function NumberInput({ name, field, value, onChange, problem, halfTyped, units }) {
  const id = useId();
  const [typed, setTyped] = useState(halfTyped ?? (value === undefined ? '' : String(value)));
  /** @param {string} text */
  const type = (text) => {
    setTyped(text);
    if (text.trim() === '') return onChange(undefined);
    const read = typedFor(field, text);
    if (read?.number !== undefined) return onChange(read.number);
    return onChange(undefined, notRead(field, text, read?.unclear), text);
  };
  const other = units === 'in' ? otherName(field.unit) : undefined;
  return html`<${Labelled} label=${titled(field)} id=${id} field=${field} problem=${problem}>
    <input id=${id} name=${name} inputmode=${other || (field.min ?? 0) < 0 ? 'text' : field.of.json === 'integer' ? 'numeric' : 'decimal'}
      autocomplete="off" value=${typed} aria-invalid=${problem ? 'true' : 'false'}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
    ${other && html`<p class="help">${say('unit.other-typed', { unit: field.unit, other })}</p>`}
    ${other && value !== undefined && html`<p class="help measure">${markedText(String(value))} ${field.unit}${inOtherText(value, field.unit)}</p>`}
  <//>`;
}

/** @param {InputProps} props */
function LengthInput({ name, field, value, onChange, problem, halfTyped, units = 'in' }) {
  const id = useId();
  const [typed, setTyped] = useState(halfTyped ?? (value === undefined ? '' : asTyped(value, units)));
  /** @param {string} text */
  const parsed = (text) => parseLength(text, units, field.min === 0, Math.max(MOST_TICKS, field.max ?? 0));
  const read = typed.trim() ? parsed(typed) : {};
  /** @param {string} text */
  const type = (text) => {
    setTyped(text);
    if (!text.trim()) return onChange(undefined);
    const { ticks, error, question } = parsed(text);
    return error || question ? onChange(undefined, error ?? question, text) : onChange(ticks);
  };
  return html`<${Labelled} label=${field.title} id=${id} field=${field} problem=${problem}>
    <input id=${id} name=${name} inputmode="text" autocomplete="off" autocapitalize="off" value=${typed}
      aria-invalid=${problem ? 'true' : 'false'}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
    ${read.ticks !== undefined && html`<p class="help measure">${keptLengthText(read.ticks, unitTyped(read.unit), isOfRoom(field))}</p>`}
  <//>`;
}

/**
 * A length as one would type it, in the unit it went in: what a tape shows exactly is the same when it is saved again.
 *
 * @param {number} ticks [1/320 mm] @param {Units} units of a number without a unit
 */
export function asTyped(ticks, units) {
  const wentIn = unitItWentIn(ticks, units);
  const mm = formatMm(ticks).replaceAll(',', '').replace(/\.0$/, '');
  const text = wentIn === 'in' ? formatInches(ticks) : mm;
  if (text.startsWith('≈')) return `${mm} mm`;
  return wentIn === units ? text : `${text} ${wentIn}`;
}

/** @param {InputProps} props */
function ChoiceInput({ name, field, value, onChange, problem }) {
  const id = useId();
  const choices = field.choices ?? [];
  if (choices.length > MOST_CHIPS) {
    return html`<${Labelled} label=${titled(field)} id=${id} field=${field} problem=${problem}>
      <select id=${id} name=${name} value=${value ?? ''} aria-invalid=${problem ? 'true' : 'false'}
        onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value || undefined)}>
        <option value="" selected=${value === undefined}>–</option>
        ${choices.map((choice) => html`<option value=${choice} selected=${choice === value}>${choiceText(choice)}</option>`)}
      </select>
    <//>`;
  }
  return html`<${Chips} name=${name} title=${titled(field)} help=${field.help} choices=${choices} value=${value} onChange=${onChange} problem=${problem} />`;
}

/**
 * A choice of few: all of them in view.
 *
 * @param {{name: string, title: string, help?: string, choices: string[], value: unknown, onChange: (value: string) => void, problem?: Problem | null}} props
 */
export function Chips({ name, title, help, choices, value, onChange, problem }) {
  const id = useId();
  return html`<fieldset class="field">
    <legend>${title}</legend>
    <div class="chips">
      ${choices.map(
        (choice) => html`<label class="chip" key=${choice}>
          <input type="radio" name=${`${name}-${id}`} value=${choice} checked=${choice === value} onChange=${() => onChange(choice)} />
          <span>${choiceText(choice)}</span>
        </label>`,
      )}
    </div>
    ${help && html`<p class="help">${help}</p>`}
    ${problem && html`<p class="problem" role="alert">${say(problem.code, problem.facts)}</p>`}
  </fieldset>`;
}

/** @param {InputProps} props */
function ChoicesInput({ field, value, onChange, problem }) {
  const chosen = new Set(value ?? []);
  /** @param {string} choice */
  const toggle = (choice) => {
    if (!chosen.delete(choice)) chosen.add(choice);
    const kept = (field.choices ?? []).filter((each) => chosen.has(each));
    onChange(kept.length > 0 ? kept : undefined);
  };
  return html`<fieldset class="field">
    <legend>${titled(field)}</legend>
    <div class="chips">
      ${(field.choices ?? []).map(
        (choice) => html`<label class="chip" key=${choice}>
          <input type="checkbox" checked=${chosen.has(choice)} onChange=${() => toggle(choice)} /><span>${choiceText(choice)}</span>
        </label>`,
      )}
    </div>
    ${problem && html`<p class="problem" role="alert">${say(problem.code, problem.facts)}</p>`}
  </fieldset>`;
}

/** @param {InputProps} props */
function YesInput({ name, field, value, onChange, problem }) {
  const shown = value === undefined ? undefined : value ? 'yes' : 'no';
  return html`<${Chips} name=${name} title=${titled(field)} help=${field.help} choices=${['yes', 'no']} value=${shown}
    onChange=${(/** @type {string} */ choice) => onChange(choice === 'yes')} problem=${problem} />`;
}

/** Numbers beside each other, in whatever order they were typed. @param {InputProps} props */
function ListInput({ name, field, value, onChange, problem, halfTyped }) {
  const id = useId();
  const [typed, setTyped] = useState(halfTyped ?? (value ?? []).join(', '));
  /** @param {string} text */
  const type = (text) => {
    setTyped(text);
    const parts = text.split(/[\s,;]+/).filter(Boolean);
    if (parts.length === 0) return onChange(undefined);
    const unclear = unclearInRow(text);
    if (unclear) return onChange(undefined, notRead(field, text, unclear), text);
    if (parts.every(isNumber)) return onChange([...new Set(parts.map(Number))].sort((a, b) => a - b));
    const code = field.of.item?.json === 'integer' ? 'field.not-whole' : 'field.not-a-number';
    return onChange(undefined, { ...notRead(field, text), code }, text);
  };
  return html`<${Labelled} label=${titled(field)} id=${id} field=${field} problem=${problem}>
    <input id=${id} name=${name} inputmode="text" autocomplete="off" placeholder=${field.of.example} value=${typed}
      aria-invalid=${problem ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
  <//>`;
}

/** What time it is in a zone, to read; empty where this phone does not know it. @param {string} zone */
function timeIn(zone) {
  try {
    const options = /** @type {const} */ ({ dateStyle: 'medium', timeStyle: 'short', timeZone: zone });
    return new Intl.DateTimeFormat(locale(), options).format(new Date());
  } catch {
    return '';
  }
}

/** A time zone: that of this phone stands first among those that are offered. @param {InputProps} props */
function ZoneInput({ name, field, value, onChange, problem, halfTyped }) {
  const id = useId();
  const [typed, setTyped] = useState(halfTyped ?? value ?? '');
  const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
  /** @param {string} text */
  const type = (text) => {
    setTyped(text);
    const zone = text.trim();
    if (!zone || timeIn(zone)) return onChange(zone || undefined);
    return onChange(undefined, { ...notRead(field, zone), code: 'field.unlike' }, text);
  };
  const now = value && timeIn(value);
  return html`<${Labelled} label=${titled(field)} id=${id} field=${field} problem=${problem}>
    <input id=${id} name=${name} list=${`${id}-zones`} autocomplete="off" autocapitalize="off" spellcheck=${false}
      value=${typed} aria-invalid=${problem ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
    <datalist id=${`${id}-zones`}>${[...new Set([own, ...(Intl.supportedValuesOf?.('timeZone') ?? [])])].map((zone) => html`<option key=${zone} value=${zone} />`)}</datalist>
    ${now && html`<p class="help measure">${say('unit.zone-now', { now })}</p>`}
  <//>`;
}

/** By what the table of field types calls them. @type {Record<string, (props: InputProps) => Child>} */
const INPUTS = {
  line: TextInput,
  lines: TextInput,
  number: NumberInput,
  length: LengthInput,
  choice: ChoiceInput,
  choices: ChoicesInput,
  yes: YesInput,
  list: ListInput,
  zone: ZoneInput,
};

/** Whether a field can be typed here at all: references and contents have screens of their own. @param {Field} field */
export const canBeTyped = (field) => Boolean(field.of.input);

/** The input for a field. @param {InputProps} props */
export function FieldInput(props) {
  const Input = INPUTS[props.field.of.input ?? ''];
  return Input ? html`<${Input} ...${props} />` : null;
}
