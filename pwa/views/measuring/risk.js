// What may still go wrong in a group: how many cavities could be shorter, what reading more would buy, what a misfit costs.

import { firmSaid } from '../../rules/judging/firm_effect.js';
import { html } from '../html.js';
import { Facts } from '../parts/parts.js';
import { amountText, say } from '../words.js';
import { barNames, bestOf, misfitOf } from './judged_group.js';

const PER_UNIT = 100;
/** Parts of the cost of a misfit, as they are shown. @type {Array<[string, string]>} */
/** @type {Array<['lift' | 'bars' | 'labour', string]>} */
const PARTS = [
  ['lift', 'misfit.lift'],
  ['bars', 'misfit.bars'],
  ['labour', 'misfit.labour'],
];

/** Beside the verdict, wherever cavities are left that nobody read. @param {{told: Judgement, found: import('./judged_group.js').Found}} props */
export function Risk({ told, found }) {
  const { trusted, more_buys: buys } = told;
  const best = bestOf(told);
  const atRisk = trusted.m !== 0 && best && best.verdict !== 'too long';
  return html`<div class="small stack">
    ${told.firm && html`<p data-firm=${told.firm.state}>${sayFirm(told.firm)}</p>`}
    ${trusted.could_be_shorter !== null && html`<p>${say('cavity.could-be-shorter', { d: trusted.could_be_shorter, m: trusted.m })}</p>`}
    ${buys && !told.degree?.next && html`<${More} more=${told.measure_more} buys=${buys} bars=${found.bars} />`}
    ${atRisk && html`<${Misfit} cost=${misfitOf(found, told)} />`}
  </div>`;
}

/** @param {FirmEffect} effect */
function sayFirm(effect) {
  const { code, facts } = firmSaid(effect);
  return say(code, facts);
}

/** Measure k more, and what that would buy. @param {{more: number, buys: MoreBuys, bars: ViewRecord<'catalogue_item'>[]}} props */
function More({ more, buys, bars }) {
  const { trusted_ticks, could_be_shorter: d, m } = buys;
  const names = barNames(buys.bars, bars);
  return html`<p><span class="strong">${say('readings.measure-more', { more })}</span> ${
    trusted_ticks === null
      ? say('readings.more-tells-spread')
      : say('readings.more-buys', { bars: names, trusted_ticks })
  } ${trusted_ticks !== null && m > 0 && say('readings.more-narrows', { d, m })}</p>`;
}

/** What one misfit would cost: in money to those who may see it, else in words. @param {{cost: ReturnType<typeof import('./judged_group.js').misfitOf>}} props */
function Misfit({ cost }) {
  const { currency, needs_lift: lift, missing, total_cents: total } = cost;
  const words = say(lift ? 'misfit.in-words-lift' : 'misfit.in-words');
  if (!currency) return html`<p>${words}</p>`;
  if (total === null)
    return html`<p>${words} ${say('misfit.not-priced', { missing: missing.map((/** @type {string} */ name) => say(`misfit.${name}`)) })}</p>`;
  const parts = PARTS.filter(([name]) => cost[`${name}_cents`]).map(
    ([name, code]) =>
      /** @type {[string, string]} */ ([
        say(code),
        `${currency} ${amountText(Number(cost[`${name}_cents`]) / PER_UNIT)}`,
      ]),
  );
  return html`<details><summary class="turn">${say('misfit.cost', { currency, total_money: total / PER_UNIT })}</summary>
    <div class="stack"><p>${words}</p><${Facts} facts=${parts} /></div>
  </details>`;
}
