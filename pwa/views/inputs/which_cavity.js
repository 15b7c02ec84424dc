// Which cavity was read: fixture, row, and place in the row; with what tape, and how it was held.

import { html } from '../html.js';
import { choiceText, say } from '../words.js';
import { Chips } from './fields.js';

/** @typedef {import('../measuring/reading_draft.js').Place} Place */
/** @typedef {import('../measuring/reading_draft.js').Tape} Tape */

/**
 * @param {object} props
 * @param {Place} props.place
 * @param {(place: Place) => void} props.onPlace
 * @param {number} props.most fixtures, as counted
 * @param {ValueOf<'kind', 'lamps'>} props.lamps of the kind
 */
export function WhichCavity({ place, onPlace, most, lamps }) {
  const { rows = 1, lamps_end_to_end: cavities = 1 } = lamps;
  /** @param {number} by */
  const step = (by) => onPlace({ ...place, position: Math.max(1, (place.position ?? 0) + by) });
  /** @param {string} text */
  const type = (text) => onPlace({ ...place, position: /^\d+$/.test(text.trim()) ? Number(text) : null });
  return html`<div class="which">
    <div class="stepper">
      <label for="which-fixture">${say('page.fixture')}${most ? html` <span class="muted small of">${say('page.of', { most })}</span>` : ''}</label>
      <button type="button" class="button" aria-label=${say('page.one-before')} onClick=${() => step(-1)}>−</button>
      <input id="which-fixture" inputmode="numeric" autocomplete="off" value=${place.position ?? ''}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
      <button type="button" class="button" aria-label=${say('page.one-after')} onClick=${() => step(1)}>+</button>
    </div>
    ${rows > 1 && html`<${Numbers} title=${say('page.row')} most=${rows} value=${place.row} onChange=${(/** @type {number} */ row) => onPlace({ ...place, row })} />`}
    ${cavities > 1 && html`<${Numbers} title=${say('page.cavity-in-the-row')} most=${cavities} value=${place.cavity} onChange=${(/** @type {number} */ cavity) => onPlace({ ...place, cavity })} />`}
  </div>`;
}

/**
 * The same in one line, for the ladder: a tap leads to the next fixture, row or cavity, and round to the first.
 *
 * @param {object} props
 * @param {Place} props.place
 * @param {(place: Place) => void} props.onPlace
 * @param {number} props.most fixtures, as counted
 * @param {ValueOf<'kind', 'lamps'>} props.lamps of the kind
 * @param {() => void} props.onEnter Enter in the number: the length is next
 */
export function PlaceLine({ place, onPlace, most, lamps, onEnter }) {
  const { rows = 1, lamps_end_to_end: cavities = 1 } = lamps;
  /** @param {number} by */
  const step = (by) => onPlace({ ...place, position: Math.max(1, (place.position ?? 0) + by) });
  /** @param {string} text */
  const type = (text) => onPlace({ ...place, position: /^\d+$/.test(text.trim()) ? Number(text) : null });
  /** @param {KeyboardEvent} event */
  const press = (event) => {
    if (event.key !== 'Enter') return;
    event.preventDefault();
    onEnter();
  };
  return html`<div class="place-line">
    <button type="button" class="button" aria-label=${say('page.one-before')} onClick=${() => step(-1)}>−</button>
    <div class="place-number">
      <label for="which-fixture">${say('page.fixture')}${most ? html` <span class="of">${say('page.of', { most })}</span>` : ''}</label>
      <input id="which-fixture" inputmode="numeric" autocomplete="off" value=${place.position ?? ''} onKeyDown=${press}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
    </div>
    <button type="button" class="button" aria-label=${say('page.one-after')} onClick=${() => step(1)}>+</button>
    ${rows > 1 && html`<${Next} what="row" most=${rows} value=${place.row} onChange=${(/** @type {number} */ row) => onPlace({ ...place, row })} />`}
    ${cavities > 1 && html`<${Next} what="cavity" most=${cavities} value=${place.cavity} onChange=${(/** @type {number} */ cavity) => onPlace({ ...place, cavity })} />`}
  </div>`;
}

/** A number of few that a tap takes on to the next. @param {{what: 'row' | 'cavity', most: number, value: number, onChange: (value: number) => void}} props */
function Next({ what, most, value, onChange }) {
  return html`<button type="button" class="button next-of" aria-label=${say(`ladder.next-${what}`, { value, most })} onClick=${() => onChange((value % most) + 1)}>
    <span class="of">${say(`ladder.${what}-of`, { most })}</span><span class="at">${value}</span>
  </button>`;
}

/** From where rows and cavities are counted, one tap away; nothing where there is one of each. @param {{lamps: {rows?: number, lamps_end_to_end?: number}}} props */
export function WhichRow({ lamps: { rows = 1, lamps_end_to_end: cavities = 1 } }) {
  if (rows === 1 && cavities === 1) return null;
  return html`<details class="which-rows">
    <summary class="turn">${say('page.which-row-is-1')}</summary>
    <p class="small">${say('crew.rows-counted')}</p>
  </details>`;
}

/** @param {{title: string, most: number, value: number, onChange: (value: number) => void}} props */
function Numbers({ title, most, value, onChange }) {
  const choices = Array.from({ length: most }, (_, at) => String(at + 1));
  return html`<${Chips} name=${title} title=${title} choices=${choices} value=${String(value)} onChange=${(/** @type {string} */ choice) => onChange(Number(choice))} />`;
}

const HELD = /** @type {Record<string, boolean>} */ ({ 'from the hook': true, 'from a mark': false });

/** What the tape is, in a line; what it is of, one tap away. @param {{tape: Tape, fields: Record<string, SpecField>, onTape: (tape: Tape) => void}} props */
export function WhichTape({ tape, fields, onTape }) {
  const gauge = tape.instrument.startsWith('gauge');
  const held = Object.keys(HELD).find((each) => HELD[each] === tape.from_hook);
  const said = [
    choiceText(tape.instrument),
    !gauge && tape.graduation && choiceText(tape.graduation),
    !gauge && (held ?? say('page.hook-or-mark-not-said')),
  ];
  return html`<details class="which-tape">
    <summary class="turn">${said.filter(Boolean).join(', ')}</summary>
    <div class="stack">
      <${Chips} name="instrument" title=${fields.instrument.title} choices=${fields.instrument.choices} value=${tape.instrument}
        onChange=${(/** @type {string} */ instrument) => onTape({ ...tape, instrument })} />
      ${
        !gauge &&
        html`<${Chips} name="graduation" title=${fields.graduation.title} choices=${fields.graduation.choices} value=${tape.graduation}
          onChange=${(/** @type {string} */ graduation) => onTape({ ...tape, graduation })} />
        <${Chips} name="held" title=${say('page.measured')} choices=${Object.keys(HELD)} value=${held}
          help=${say('page.from-a-mark-both-ends')}
          onChange=${(/** @type {string} */ choice) => onTape({ ...tape, from_hook: HELD[choice] })} />`
      }
    </div>
  </details>`;
}
