// What do the groups come to as one job, and what does doing them together change?

import { html } from '../../html.js';
import { say } from '../../words.js';
import { amount, number, Table } from '../parts.js';

/** From the sum of the groups, one by one, to the job. @param {{money: JobMoney, floors: FloorOfPlan[], currency: string}} props */
export function JobMoneyTables({ money, floors, currency }) {
  if (money.days === null || money.alone.cost === null) return null;
  const steps = money.steps.map(({ what, by }) => [
    what === 'hire'
      ? say('job.hire', { days_alone: number(money.days_alone), days: number(money.days) })
      : say(`job.${what}`),
    `${by > 0 ? '+' : '−'} ${amount(Math.abs(by), currency)}`,
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
    <${Table} caption=${say('job.from-groups-to-job')} numbers=${[1]} heads=${[say('desk.what'), say('desk.amount')]} rows=${rows} />
    ${parts.length > 1 && html`<${Table} stacks caption=${say('job.by-floor')} numbers=${[1, 2, 3]} heads=${[say('job.floor'), say('desk.cost-title'), say('desk.rebate'), say('desk.net-present-value')]} rows=${parts} />`}
  </div>`;
}
