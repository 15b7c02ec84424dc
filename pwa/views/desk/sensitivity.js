// How much hangs on what is not certain: hours, energy price and cost, each a fifth lower and higher.

import { html } from '../html.js';
import { say } from '../words.js';
import { number, Table } from './parts.js';

/** @type {Array<[string, string]>} */
const INPUTS = [
  ['hours', 'Hours'],
  ['tariff', 'Energy price'],
  ['cost', 'Cost'],
];
const STEPS = ['−20 %', 'as it is', '+20 %'];
/** @type {Array<[string, string]>} */
const FIGURES = [
  ['simple_payback_years', 'Pays back, years'],
  ['npv', 'Net present value'],
  ['sir', 'Saved per invested'],
];

/** @param {string} name @param {number | null} value */
function shown(name, value) {
  if (value === null && name === 'simple_payback_years') return 'never';
  return number(value, { npv: 0, simple_payback_years: 1 }[name] ?? 2);
}

/** @param {{swings: Swings | undefined, currency: string, about: string}} props */
export function Sensitivity({ swings, currency, about }) {
  if (!swings) return null;
  const named = (/** @type {string} */ name, /** @type {string} */ figure) =>
    name === 'npv' ? `${figure}, ${currency}` : figure;
  const rows = INPUTS.flatMap(([input, title]) =>
    FIGURES.map(([name, figure], place) => [
      place === 0
        ? html`<span class="strong">${title}</span><br />${named(name, figure)}`
        : named(name, figure),
      ...swings[input].map((each) => shown(name, each[name])),
    ]),
  );
  return html`<details><summary>${say('desk.sensitivity', { about })}</summary><div class="stack">
    <${Table} caption="If hours, energy price or cost were a fifth lower or higher" numbers=${[1, 2, 3]} heads=${['Of', ...STEPS]} rows=${rows} />
    <p class="muted small">${say('desk.sensitivity-help')}</p>
  </div></details>`;
}
