// What scenarios come to, side by side with today.

import { html } from '../../html.js';
import { counted, say } from '../../words.js';
import { number, Table } from '../parts.js';

/** @type {Array<[string, (figures: ScenarioFigures) => string]>} */
const ROWS = [
  ['cost', ({ cost }) => number(cost)],
  ['rebate', ({ rebate }) => number(rebate)],
  ['npv', ({ npv }) => number(npv)],
  ['payback', ({ simple_payback_years: years }) => number(years, 1)],
  ['saving', ({ saving_year: saving }) => number(saving)],
  ['kwh', ({ kwh_saved: kwh }) => number(kwh)],
  ['order-sum', ({ order_sum: sum }) => number(sum)],
  ['items', ({ items }) => number(items)],
  ['days', ({ days }) => number(days)],
  ['labour', ({ minutes }) => number(minutes === null ? null : minutes / 60, 1)],
  ['light', ({ light_pct: light }) => number(light)],
  ['light-least', ({ light_least_pct: light }) => number(light)],
  ['ready', ({ ready }) => number(ready)],
  ['left', ({ left }) => number(left)],
  ['not_passing', ({ not_passing: none }) => number(none)],
  ['open-groups', ({ open }) => number(open)],
];

const IN_SIGHT = new Set(['npv', 'payback']);

/**
 * What moves while figures are changed, on a screen where the table lies far below the form.
 *
 * @param {{told: ScenarioTold | null, busy: boolean, wrong: string[]}} props `busy`: what was stays, paler, until the next is
 *   worked out; `wrong`: what is typed and cannot be weighed, told in its place
 */
export function InSight({ told, busy, wrong }) {
  if (!told) return null;
  const currency = told.currency || say('money.no-currency');
  const lines = ROWS.filter(([word]) => IN_SIGHT.has(word)).map(([word, of]) =>
    say('scenarios.from-to', {
      what: say(`scenarios.${word}`, { currency }),
      today: of(told.today),
      changed: of(told.then),
    }),
  );
  return html`<div class=${`in-sight small ${busy ? 'muted' : ''}`} role="status">${(wrong.length ? wrong : lines).map((line) => html`<p>${line}</p>`)}</div>`;
}

/** @param {{told: ScenarioTold, others: Array<{name: string, figures: ScenarioFigures}>}} props */
export function SideBySide({ told, others }) {
  const columns = [
    { name: say('scenarios.today'), figures: told.today },
    { name: say('scenarios.this'), figures: told.then },
    ...others,
  ];
  return html`${told.changed > 0 && html`<p class="strong" role="status">${say('scenarios.changed', { groups: counted(told.changed, 'group') })}</p>`}
    ${told.over_budget && html`<p class="notice strong" role="status">${say('scenarios.over-budget')}</p>`}
    ${told.decided.length > 0 && html`<p>${say('scenarios.deferred', { groups: counted(told.decided.filter(({ decision }) => decision === 'defer').length, 'group') })}</p>`}
    <${Table} stacks caption=${say('scenarios.side-by-side')} numbers=${columns.map((_, place) => place + 1)}
      heads=${[say('scenarios.figure'), ...columns.map(({ name }) => name)]}
      rows=${ROWS.map(([word, of]) => [say(`scenarios.${word}`, { currency: told.currency || say('money.no-currency') }), ...columns.map(({ figures }) => of(figures))])} />`;
}
