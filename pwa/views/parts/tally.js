// A count with − and + as wide as the thumb, 'add 5', and the number itself editable.

import { useId, useLayoutEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';

/**
 * @param {object} props
 * @param {string} props.label
 * @param {number | null} props.value null: nothing typed yet
 * @param {(value: number | null) => void} props.onChange
 * @param {number} [props.least] @param {number} [props.most]
 * @param {string | null} [props.problem]
 * @param {boolean} [props.short] no further way to count than by ones and by typing
 * @param {boolean} [props.first] it is what is typed first: the next key writes it anew
 */
export function Tally({
  label,
  value,
  onChange,
  least = 0,
  most = 9999,
  problem = null,
  first = false,
  short = false,
}) {
  const id = useId();
  const input = useRef(/** @type {HTMLInputElement | null} */ (null));
  useLayoutEffect(() => {
    if (first) input.current?.select();
  }, []);
  /** @param {number} by */
  const add = (by) => onChange(Math.min(most, Math.max(least, (value ?? 0) + by)));
  /** @param {string} text */
  const type = (text) => onChange(/^-?\d+$/.test(text.trim()) ? Number(text) : null);
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <div class="tally">
      <button type="button" class="button" aria-label=${say('page.one-less', { label })} onClick=${() => add(-1)}>−</button>
      <input id=${id} ref=${input} inputmode="numeric" autocomplete="off" value=${value ?? ''} aria-invalid=${problem ? 'true' : 'false'}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
      <button type="button" class="button" aria-label=${say('page.one-more', { label })} onClick=${() => add(1)}>+</button>
    </div>
    ${
      !short &&
      html`<div class="side-by-side">
      <button type="button" class="button plain" onClick=${() => add(5)} aria-label=${say('page.add-5', { label })}>${say('page.add-5-short')}</button>
    </div>`
    }
    ${problem && html`<p class="problem" role="alert">${problem}</p>`}
  </div>`;
}
