// How much hangs on what is not certain: hours, energy price and cost, each a fifth lower and higher.

import { html } from '../../html.js';
import { say } from '../../words.js';
import { number, Table } from '../parts.js';
import { Tornado } from '../planning/pictures.js';

/** @type {Array<[string, string]>} */
const INPUTS = [
  ['hours', 'desk.swing.hours'],
  ['tariff', 'desk.swing.tariff'],
  ['cost', 'desk.swing.cost'],
];
const STEPS = ['desk.swing.less', 'desk.swing.as-it-is', 'desk.swing.more'];
/** @type {Array<[string, string]>} */
const FIGURES = [
  ['simple_payback_years', 'desk.swing.payback'],
  ['npv', 'desk.swing.npv'],
  ['sir', 'desk.swing.sir'],
];

/** @param {string} name @param {number | null} value */
function shown(name, value) {
  if (value === null && name === 'simple_payback_years') return say('desk.swing.never');
  return number(value, { npv: 0, simple_payback_years: 1 }[name] ?? 2);
}

/** @param {{swings: Swings | undefined, currency: string, about: string}} props */
export function Sensitivity({ swings, currency, about }) {
  if (!swings) return null;
  const named = (/** @type {string} */ name, /** @type {string} */ figure) =>
    name === 'npv' ? say('desk.swing.of-currency', { figure: say(figure), currency }) : say(figure);
  const rows = INPUTS.flatMap(([input, title]) =>
    FIGURES.map(([name, figure], place) => [
      place === 0
        ? html`<span class="strong">${say(title)}</span><br />${named(name, figure)}`
        : named(name, figure),
      ...swings[input].map((each) => shown(name, each[name])),
    ]),
  );
  return html`<details><summary>${say('desk.sensitivity', { about })}</summary><div class="stack">
    <${Tornado} swings=${swings} inputs=${INPUTS} currency=${currency} />
    <${Table} stacks caption=${say('desk.if-hours-energy-price-or')} numbers=${[1, 2, 3]} heads=${[say('desk.swing.of'), ...STEPS.map((step) => say(step))]} rows=${rows} />
    <p class="muted small">${say('desk.sensitivity-help')}</p>
  </div></details>`;
}
