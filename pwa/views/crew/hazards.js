// What would hurt whoever only reaches for the fixture: said before all else, on its card and where its group is listed.

import { html } from '../html.js';
import { Caution } from '../parts/parts.js';
import { say } from '../words.js';

const ON_MAINS = 'plan.caution.led-tubes-on-mains';

/**
 * Codes of the cautions that stand before all else, by the card and by what the survey says by now.
 * @param {{conversion?: RecordView<'conversion'>, kind?: RecordView<'kind'>}} of @returns {string[]}
 */
export function hazardsOf({ conversion, kind }) {
  const cautions = conversion?.facets.identity?.frozen?.cautions ?? [];
  const fitted = kind?.facets.lamps?.fitted;
  return cautions.includes(ON_MAINS) || fitted === 'led-tube-on-mains' ? [ON_MAINS] : [];
}

/** Each once, whichever of these have it. @param {{of: Array<{conversion?: RecordView<'conversion'>, kind?: RecordView<'kind'>}>}} props */
export function Hazards({ of }) {
  const codes = [...new Set(of.flatMap(hazardsOf))];
  if (codes.length === 0) return null;
  return html`<div data-hazards="yes"><${Caution}>
    ${codes.map((code) => html`<p class="strong" key=${code}>${say(code)}</p>`)}
  <//></div>`;
}
