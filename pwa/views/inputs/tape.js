// The tape pad: what stands on the tape, large; keys as wide as a thumb, for digits and for the fraction in turn.

import { useId } from 'preact/hooks';
import { formatInches } from '../../rules/measuring/lengths.js';
import { html } from '../html.js';
import { mmText, say } from '../words.js';
import { afterKey, fractionText, partOf, partsOf, stepsOf, withFraction, withStep } from './tape_text.js';

const SIXTEENTHS = 16;

/** @typedef {(text: string) => void} OnText */

/**
 * The length as it is typed, and beside it the same on the other tape.
 *
 * @param {object} props
 * @param {string} props.text
 * @param {number | null} props.ticks what it says [1/320 mm]
 * @param {Units} props.units of a number without a unit
 * @param {boolean} props.wrong
 * @param {OnText} props.onText
 * @param {import('./say_it.js').Said} props.sayIt
 * @param {{current: HTMLInputElement | null}} props.field for who wants to put the caret there
 */
export function ReadingField({ text, ticks, units, wrong, onText, sayIt, field }) {
  const id = useId();
  return html`<div class="field reading-field">
    <input id=${id} ref=${field} class="reading" inputmode="none" autocomplete="off" autocapitalize="off" enterkeyhint="done"
      value=${text} aria-invalid=${wrong ? 'true' : 'false'}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onText(event.currentTarget.value)} />
    <label for=${id} class="visually-hidden">${say('page.cavity-length')}${say('page.socket-face-to-socket-face')}</label>
    ${
      !text && sayIt.hearing === 'ready'
        ? html`<button type="button" class="button say-it" aria-pressed=${String(sayIt.listening)} onClick=${sayIt.listening ? sayIt.stop : sayIt.say}>${say(sayIt.listening ? 'ladder.listening' : 'ladder.say-it')}</button>`
        : html`<${Also} text=${text} ticks=${ticks} units=${units} />`
    }
  </div>`;
}

/** @param {{text: string, ticks: number | null, units: Units}} props */
const Also = ({ text, ticks, units }) =>
  html`<p class="also measure" aria-live="polite">${ticks === null ? say(`ladder.typed-in-${units}`) : otherText(text, ticks)}</p>`;

/** The length as on the other tape, and on this one too where it was typed otherwise. @param {string} text @param {number} ticks */
function otherText(text, ticks) {
  const [inches, mm] = [formatInches(ticks), mmText(ticks)];
  const plain = mm.replaceAll(',', '');
  if (text.trim() === inches) return `= ${mm} mm`;
  if ([plain, plain.replace(/\.0$/, '')].includes(text.trim())) return `= ${inches} in`;
  return `= ${inches} in = ${mm} mm`;
}

/**
 * @typedef {object} KeysProps
 * @property {string} text
 * @property {Units} units
 * @property {boolean} anew a digit begins the next length
 * @property {string} start what the next length probably begins with; '' for no such key
 * @property {string} [graduation] smallest division of the tape
 * @property {OnText} onText
 * @property {(units: Units) => void} onUnits
 * @property {(face: import('./tape_text.js').Face) => void} onFace
 */

/** @param {KeysProps & {face: import('./tape_text.js').Face}} props */
export function TapeKeys({ face, ...props }) {
  return face === 'fractions' ? html`<${Fractions} ...${props} />` : html`<${Digits} ...${props} />`;
}

/** @param {KeysProps} props */
function Digits({ text, units, anew, start, onText, onUnits, onFace }) {
  /** @param {string} key */
  const digit = (key) => html`<${Key} key=${key} onTap=${() => onText(afterKey(text, key, anew))}>${key}<//>`;
  const inches = units === 'in';
  const begin = start && (!text || anew) ? start : '';
  return html`<div class="keys digits">
    ${['1', '2', '3'].map(digit)}
    <${Back} text=${text} onText=${onText} />
    ${['4', '5', '6'].map(digit)}
    ${begin ? html`<${Key} look="word" label=${say('ladder.begin-with', { start })} onTap=${() => onText(begin)}>${`${begin}…`}<//>` : html`<span></span>`}
    ${['7', '8', '9'].map(digit)}
    ${inches ? html`<${Key} look="word" label=${say('page.fraction-of-the-inch')} onTap=${() => onFace('fractions')}>${say('ladder.fractions')}<//>` : html`<span></span>`}
    <${Key} look="word" onTap=${() => onUnits(inches ? 'mm' : 'in')}>${inches ? say('page.in-mm') : say('page.in-inches')}<//>
    ${digit('0')}
    <${Key} label=${say('page.point')} onTap=${() => onText(afterKey(text, '.', false))}>.<//>
    <${Key} look="word" onTap=${() => onText('')}>${say('page.clear')}<//>
  </div>`;
}

/** Every sixteenth in one tap, and what the tape shows between two of them in one more. @param {KeysProps} props */
function Fractions({ text, graduation, onText, onFace }) {
  const parts = partsOf(graduation);
  const part = partOf(text, parts);
  const finer = parts / SIXTEENTHS;
  const steps = stepsOf(parts);
  const sixteenth = text.includes('/') ? Math.floor(part / finer) : null;
  /** @param {number} at */
  const key = (at) =>
    html`<${Key} key=${at} look=${`part part-${fractionText(at, SIXTEENTHS).split('/')[1] ?? 1}`} pressed=${at === sixteenth}
      onTap=${() => onText(withFraction(text, at * finer, parts))}>${fractionText(at, SIXTEENTHS) || say('ladder.even')}<//>`;
  /** @param {number} from */
  const line = (from) => [0, 1, 2, 3].map((at) => key(from + at));
  const side = [
    html`<${Back} text=${text} onText=${onText} />`,
    ...steps.map(
      (step) =>
        html`<${Key} look="word" pressed=${part % finer === step} onTap=${() => onText(withStep(text, step, parts))}>${`+ ${fractionText(step, parts)}`}<//>`,
    ),
    steps.length < 3 &&
      html`<${Key} look="word" label=${say('ladder.digits')} onTap=${() => onFace('digits')}>123<//>`,
  ].filter(Boolean);
  return html`<div class="keys fractions" role="group" aria-label=${say('page.fraction-of-the-inch')}>
    ${[0, 4, 8, 12].map((from, at) => [...line(from), side[at] ?? html`<span></span>`])}
  </div>`;
}

/** @param {{text: string, onText: OnText}} props */
const Back = ({ text, onText }) =>
  html`<${Key} look="word" label=${say('page.key.back')} onTap=${() => onText(afterKey(text, 'back', false))}>⌫<//>`;

/** @param {{look?: string, label?: string, pressed?: boolean, onTap: () => void, children?: Child}} props */
const Key = ({ look = '', label, pressed, onTap, children }) =>
  html`<button type="button" class="button ${look}" aria-label=${label ?? null} aria-pressed=${pressed === undefined ? null : String(pressed)} onClick=${onTap}>${children}</button>`;
