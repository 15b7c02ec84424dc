// What would hurt whoever only reaches for the fixture: said before all else, on its card and where its group is listed.

import { html } from '../html.js';
import { Caution, Mark } from '../parts/parts.js';
import { say } from '../words.js';

const ON_MAINS = 'plan.caution.led-tubes-on-mains';
const ASBESTOS = 'plan.caution.asbestos';
/** By what each is marked in a list. @type {Record<string, string>} */
const MARKS = { [ON_MAINS]: 'card.sockets-at-mains', [ASBESTOS]: 'card.asbestos' };

/** @typedef {{conversion?: RecordView<'conversion'>, kind?: RecordView<'kind'>, room?: RecordView<'room'>}} Of */

/** Codes of the cautions that stand before all else, by the card and by what the survey says by now. @param {Of} of @returns {string[]} */
export function hazardsOf({ conversion, kind, room }) {
  const cautions = conversion?.facets.identity?.frozen?.cautions ?? [];
  const seen = {
    [ON_MAINS]: kind?.facets.lamps?.fitted === 'led-tube-on-mains',
    [ASBESTOS]: room?.facets.ceiling?.asbestos === 'may-hold-asbestos',
  };
  return Object.entries(seen).flatMap(([code, holds]) => (holds || cautions.includes(code) ? [code] : []));
}

/** Each in a word or two, where a group or room is listed. @param {{of: Of[]}} props */
export const HazardMarks = ({ of }) =>
  codesOf(of).map((code) => html`<${Mark} key=${code} look="attention">${say(MARKS[code])}<//>`);

/** @param {Of[]} of */
const codesOf = (of) => [...new Set(of.flatMap(hazardsOf))];

/** Each once, whichever of these have it. @param {{of: Of[]}} props */
export function Hazards({ of }) {
  const codes = codesOf(of);
  if (codes.length === 0) return null;
  return html`<div data-hazards="yes"><${Caution}>
    ${codes.map((code) => html`<p class="strong" key=${code}>${say(code)}</p>`)}
  <//></div>`;
}
