// The tape pad: what stands on the tape, large; a ruler for the fraction; keys as wide as a thumb.

import { useId, useState } from 'preact/hooks';
import { formatInches, formatMm } from '../../rules/lengths.js';
import { html } from '../html.js';
import { afterKey, fractionText, partsOf, placeOnRuler, withFraction } from './tape_text.js';
import { say } from '../words.js';

/** @type {Array<[string, string]>} key, and its name or the code of it */
const KEYS = [
  ['1', '1'], ['2', '2'], ['3', '3'], ['back', 'page.key.back'],
  ['4', '4'], ['5', '5'], ['6', '6'], ['/', 'page.key.over'],
  ['7', '7'], ['8', '8'], ['9', '9'], [' ', 'page.key.space'],
]; // biome-ignore format: as they stand on the pad
/** @type {Record<string, string>} */
const SHOWN = { back: '⌫', ' ': '␣' };

/**
 * @param {object} props
 * @param {string} props.text
 * @param {number | null} props.ticks what it says [1/320 mm]
 * @param {(text: string) => void} props.onText
 * @param {'in' | 'mm'} props.units
 * @param {(units: 'in' | 'mm') => void} props.onUnits
 * @param {string} [props.graduation] smallest division of the tape
 * @param {boolean} [props.wrong]
 * @param {Child} [props.children] stands between what is read and the keys
 */
export function TapePad({ text, ticks, onText, units, onUnits, graduation, wrong = false, children }) {
  const id = useId();
  const [ruled, setRuled] = useState(false);
  /** @param {string} next @param {boolean} byRuler */
  const write = (next, byRuler) => {
    setRuled(byRuler);
    onText(next);
  };
  /** @param {string} key */
  const press = (key) => write(afterKey(text, key, ruled), false);
  return html`<div class="tape-pad">
    <div class="field">
      <div class="reading-head">
        <label for=${id}>${say('page.cavity-length')}<span class="visually-hidden">${say('page.socket-face-to-socket-face')}</span></label>
        <p class="also measure" aria-live="polite">${ticks === null ? say('page.socket-to-socket') : otherText(text, ticks)}</p>
      </div>
      <input id=${id} class="reading" inputmode="none" autocomplete="off" autocapitalize="off" enterkeyhint="done"
        placeholder=${units === 'in' ? '45 3/16' : '1147.8'} value=${text} aria-invalid=${wrong ? 'true' : 'false'}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => write(event.currentTarget.value, false)} />
    </div>
    ${children}
    ${units === 'in' && html`<${Ruler} text=${text} parts=${partsOf(graduation)} onText=${(/** @type {string} */ next) => write(next, true)} />`}
    <div class="keys">
      ${KEYS.map(([key, name]) => html`<button type="button" class="button" key=${key} aria-label=${say(name)} onClick=${() => press(key)}>${SHOWN[key] ?? key}</button>`)}
      <button type="button" class="button" onClick=${() => write('', false)}>${say('page.clear')}</button>
      <button type="button" class="button" aria-label="0" onClick=${() => press('0')}>0</button>
      <button type="button" class="button" aria-label=${say('page.point')} onClick=${() => press('.')}>.</button>
      <button type="button" class="button" onClick=${() => onUnits(units === 'in' ? 'mm' : 'in')}>${units === 'in' ? say('page.in-mm') : say('page.in-inches')}</button>
    </div>
  </div>`;
}

/** The length as on the other tape, and on this one too where it was typed otherwise. @param {string} text @param {number} ticks */
function otherText(text, ticks) {
  const [inches, mm] = [formatInches(ticks), formatMm(ticks)];
  if (text.trim() === inches) return `= ${mm} mm`;
  if (text.trim() === mm.replaceAll(',', '')) return `= ${inches} in`;
  return `= ${inches} in = ${mm} mm`;
}

const RULER = { width: 320, height: 60, edge: 16 };

/** One inch, as on the tape: tap or drag to the fraction. @param {{text: string, parts: number, onText: (text: string) => void}} props */
function Ruler({ text, parts, onText }) {
  const place = placeOnRuler(text, parts);
  const { width, height, edge } = RULER;
  /** @param {number} at */
  const x = (at) => edge + (at * (width - 2 * edge)) / parts;
  return html`<div class="ruler">
    <svg viewBox="0 0 ${width} ${height}" aria-hidden="true">
      ${Array.from({ length: parts + 1 }, (_, at) => html`<path key=${at} d="M${x(at)} 2 v${tickHeight(at, parts)}" />`)}
      ${[4, 8, 12].map((at) => html`<text x=${x((at * parts) / 16)} y=${tickHeight(at, 16) + 15} text-anchor="middle">${fractionText(at, 16)}</text>`)}
      <path class="at" d="M${x(place)} 2 v40 m-7 14 l7 -12 l7 12 z" />
    </svg>
    <input type="range" min="0" max=${parts - 1} step="1" value=${place} aria-label=${say('page.fraction-of-the-inch')}
      aria-valuetext=${fractionText(place, parts) || 'none'}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onText(withFraction(text, Number(event.currentTarget.value), parts))} />
  </div>`;
}

/** The coarser the division, the longer its line. @param {number} at @param {number} parts */
function tickHeight(at, parts) {
  let [step, height] = [parts, 44];
  while (at % step !== 0) [step, height] = [step / 2, height - 7];
  return height;
}
