// What is a conversion worth over the years, and what is each figure made of?

import { html } from '../../html.js';
import { numberText } from '../../numbers.js';
import { say } from '../../words.js';
import { number, Table } from '../parts.js';
import { CashFlow, WhereFrom } from './pictures.js';

/** To the cent, so that the terms are seen to add up. @param {number} value @param {string} currency */
const money = (value, currency) => `${currency} ${number(value, 2)}`.trim();

/** A share as per cent; '–' where there is none. @param {number | null} value */
const percent = (value) => (value === null ? say('life.none') : `${number(value * 100, 2)} %`);

/** @param {number | null} value */
const years = (value) =>
  value === null ? say('life.never') : say('life.years', { years: number(value, 1) });

/** @param {string} sign @param {number} value @param {string} currency */
const signed = (sign, value, currency) => `${sign} ${money(value, currency)}`;

/** @param {{life: LifeTold | null | undefined, currency: string}} props */
export function Life({ life, currency }) {
  if (!life) return null;
  const about = {
    study_years: life.study_years,
    discount_pct: numberText(life.discount_share * 100, 0, 2),
    escalation_pct: numberText(life.escalation_share * 100, 0, 2),
  };
  return html`<details><summary>${say('life.title')}</summary><div class="stack">
    <p>${say('life.about', about)}</p>
    <div class="side-by-side"><${WhereFrom} life=${life} currency=${currency} /><${CashFlow} life=${life} currency=${currency} /></div>
    <${Table} caption=${say('life.npv')} numbers=${[1]} heads=${[say('life.term'), say('life.value')]} rows=${termsOf(life, currency)} />
    <${Table} stacks caption=${say('life.figures')} numbers=${[1]} heads=${[say('life.figure'), say('life.value'), say('life.made-of')]} rows=${figuresOf(life, currency, about.discount_pct)} />
    <${ByYear} life=${life} currency=${currency} />
    <p class="muted small">${say('life.as-defined')}</p>
  </div></details>`;
}

/** From savings and investment to the present value. @param {LifeTold} life @param {string} currency */
function termsOf({ terms, measures, net_cost: net }, currency) {
  const sum = (/** @type {string} */ name, /** @type {number} */ value) => [
    html`<span class="strong">${say(name)}</span>`,
    html`<span class="strong">${money(value, currency)}</span>`,
  ];
  const few = (/** @type {Array<[string, string, number]>} */ rows) =>
    rows
      .filter(([, , value]) => value)
      .map(([name, sign, value]) => [say(name), signed(sign, value, currency)]);
  return [
    ...few([
      ['life.energy-worth', '+', terms.energy_worth],
      ['life.upkeep-worth', '+', terms.upkeep_worth],
      ['life.short-worth', '−', terms.short_worth],
    ]),
    sum('life.savings-worth', measures.savings_worth),
    ...few([
      ['life.net-cost', '+', net],
      ['life.replaced-worth', '+', terms.replaced_worth],
      ['life.residual-worth', '−', terms.residual_worth],
    ]),
    sum('life.investment-worth', measures.investment_worth),
    sum('life.npv', measures.npv),
  ];
}

/** Each figure with what it is made of. @param {LifeTold} life @param {string} currency @param {string} discount */
function figuresOf({ measures, net_cost: net, saving_year: saving, study_years: study }, currency, discount) {
  const facts = {
    savings: money(measures.savings_worth, currency),
    investment: money(measures.investment_worth, currency),
    net_cost: money(net, currency),
    saving_year: money(saving, currency),
    sir: number(measures.sir, 4),
    discount_pct: discount,
    study_years: study,
  };
  return [
    [say('life.npv'), money(measures.npv, currency), say('life.npv-made-of')],
    [
      say('life.sir'),
      measures.sir === null ? say('life.none') : number(measures.sir, 2),
      say('life.sir-made-of', facts),
    ],
    [say('life.airr'), percent(measures.airr_share), say('life.airr-made-of', facts)],
    [say('life.irr'), percent(measures.irr_share), say('life.irr-made-of')],
    [say('life.simple'), years(measures.simple_payback_years), say('life.simple-made-of', facts)],
    [say('life.discounted'), years(measures.discounted_payback_years), say('life.discounted-made-of')],
  ];
}

/** @param {{life: LifeTold, currency: string}} props */
function ByYear({ life, currency }) {
  const { flows, worth_so_far: sums } = life.measures;
  const rows = flows.map((flow, year) => [
    year === 0 ? say('life.at-once') : String(year),
    number(flow, 2),
    number(sums[year], 2),
  ]);
  return html`<${Table} stacks caption=${`${say('life.by-year')}, ${currency}`} numbers=${[1, 2]} heads=${[say('life.year'), say('life.flow'), say('life.worth-so-far')]} rows=${rows} />`;
}
