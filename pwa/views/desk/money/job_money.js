// What do the groups come to as one job, and what does doing them together change?

import { html } from '../../html.js';
import { numberText } from '../../numbers.js';
import { choiceText, say } from '../../words.js';
import { amount, number, Table } from '../parts.js';

/** Sorts of containers. */
const CONTAINERS = ['short-lamps', 'long-lamps', 'other-lamps', 'ballasts', 'pcb-ballasts'];

/** To the cent, so that the lines are seen to add up. @param {number | null | undefined} value @param {string} currency */
const cents = (value, currency) => (value === null ? '–' : `${currency} ${number(value ?? 0, 2)}`.trim());

/** @param {string} text */
const strong = (text) => html`<span class="strong">${text}</span>`;

/** Where an amount comes from. @param {CostLine} line @param {string} currency */
export function whereFrom({ what, facts = {} }, currency) {
  const money = (/** @type {number | undefined} */ value) => cents(value, currency);
  const shown = {
    ...facts,
    number: number(facts.number ?? 0),
    each: money(facts.each),
    sum: money(facts.sum),
    of: money(facts.of),
    pct: numberText(facts.pct ?? 0, 0, 2),
    taxed: facts.taxed ? choiceText(facts.taxed) : '',
  };
  const hours = (/** @type {number | undefined} */ minutes) => number((minutes ?? 0) / 60, 1);
  if (CONTAINERS.includes(what)) return say('job.from.container', shown);
  if (what === 'crew-day')
    return say('job.from.crew-day', {
      ...shown,
      amount: hours(facts.amount),
      holds: hours(facts.holds),
    });
  if (what === 'permit') return say(`job.from.permit${partsOf(facts)}`, shown);
  return say(`job.from.${what}`, shown);
}

/** Whether a permit is a sum, a share of the cost, or both. @param {{sum?: number, pct?: number}} facts */
const partsOf = ({ sum, pct }) => {
  if (!pct) return '-sum';
  return sum ? '' : '-pct';
};

/** From the sum of the groups, one by one, to the job. @param {{money: JobMoney, floors: FloorOfPlan[], currency: string}} props */
export function JobMoneyTables({ money, floors, currency }) {
  if (money.days === null || money.alone.cost === null) return null;
  const steps = money.steps.map(({ what, by }) => [
    what === 'hire'
      ? say('job.hire', { days_alone: number(money.days_alone), days: number(money.days) })
      : say(`job.${what}`),
    `${by > 0 ? '+' : '−'} ${amount(Math.abs(by), currency)}`,
  ]);
  const lines = money.lines.map((line) => [
    say(`job.line.${line.what}`),
    cents(line.amount, currency),
    whereFrom(line, currency),
  ]);
  const rows = [
    [say('job.alone'), amount(money.alone.cost, currency)],
    ...steps,
    [say('job.cost'), amount(money.cost, currency)],
    [say('job.rebate-in-all'), amount(money.rebate, currency)],
  ];
  const parts = floors
    .filter(({ cost_share: cost }) => cost !== null)
    .map((floor) => [
      floor.floor_name,
      amount(floor.cost_share, currency),
      amount(floor.rebate_share, currency),
      amount(floor.npv_share, currency),
    ]);
  return html`<div class="stack">
    <${Table} stacks caption=${say('job.lines')} numbers=${[1]} heads=${[say('job.line'), say('desk.amount'), say('job.where-from')]}
      rows=${[...lines, [strong(say('job.cost')), strong(cents(money.cost, currency)), '']]} />
    <details><summary>${say('job.how')}</summary><p>${say('job.lines-about')}</p></details>
    <${Table} caption=${say('job.from-groups-to-job')} numbers=${[1]} heads=${[say('desk.what'), say('desk.amount')]} rows=${rows} />
    ${parts.length > 1 && html`<${Table} stacks caption=${say('job.by-floor')} numbers=${[1, 2, 3]} heads=${[say('job.floor'), say('desk.cost-title'), say('desk.rebate'), say('desk.net-present-value')]} rows=${parts} />`}
  </div>`;
}
