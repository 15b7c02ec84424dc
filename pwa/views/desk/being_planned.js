// How far the plan of a large site is, floor by floor, while the server makes it.

import { html } from '../html.js';
import { numberText } from '../numbers.js';
import { say } from '../words.js';

const CODES = ['plan.being-made', 'plan.being-read'];
const FLOORS_MOST = 30;
const SECOND_MS = 1000;
const AGAIN_S = 2;

/** @typedef {{floor_name: string, groups: number, planned: number, ready: number}} FloorSoFar */
/** @typedef {{done?: number, total?: number, groups?: number, seconds?: number, floors?: FloorSoFar[]}} SoFar */

/** After how long to ask again, where an answer waits for the plan of its site [ms]; 0: it is another error, or none. @param {unknown} error */
export function againInMs(error) {
  const { code, facts } = /** @type {{code?: string, facts?: SoFar}} */ (error ?? {});
  return CODES.includes(code ?? '') ? (facts?.seconds ?? AGAIN_S) * SECOND_MS : 0;
}

/** @param {{error: unknown}} props */
export function BeingPlanned({ error }) {
  const { code, facts } = /** @type {{code: string, facts: SoFar}} */ (error);
  const { done = 0, total = 0, groups = 0, floors = [] } = facts;
  const begun = floors.filter(({ planned }) => planned > 0).slice(-FLOORS_MOST);
  const numbers = { done: numberText(done, 0), total: numberText(total, 0), groups: numberText(groups, 0) };
  const sentence = say(code, numbers);
  return html`<section class="card stack" aria-label=${say('plan.known-so-far')}>
    <p aria-busy="true">${sentence}</p>
    ${total > 0 && html`<progress max=${total} value=${done} aria-label=${sentence}></progress>`}
    ${begun.length > 0 && html`<p class="strong">${say('plan.known-so-far')}</p>`}
    ${
      begun.length > 0 &&
      html`<ul class="rows">${begun.map((floor) => html`<li class="row-text" key=${floor.floor_name}>${floorText(floor)}</li>`)}</ul>`
    }
  </section>`;
}

/** @param {FloorSoFar} floor */
const floorText = ({ floor_name: floor, planned, groups, ready }) =>
  say(floor ? 'plan.floor-so-far' : 'plan.no-floor-so-far', {
    floor,
    planned: numberText(planned, 0),
    groups: numberText(groups, 0),
    ready: numberText(ready, 0),
  });
