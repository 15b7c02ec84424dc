// Pictures of money over the years: what flows in each year, and what the present value is made of.

import { html } from '../../html.js';
import { say } from '../../words.js';
import { amount, number } from '../parts.js';
import { scaleOf, WIDTH } from '../picture_scale.js';

const EDGE = 12;
const HEIGHT = 240;
const FOOT = 30;
const HEAD = 26;
const ROW = 46;
const BAR = 18;
const GAP_SHARE = 0.25;
const YEARS_BETWEEN = 5;

/** A bar for each year, and the line of what all years so far are worth today. @param {{life: LifeTold, currency: string}} props */
export function CashFlow({ life, currency }) {
  const { flows, worth_so_far: sums } = life.measures;
  if (flows.length < 2) return null;
  const y = scaleOf([0, ...flows, ...sums], HEIGHT - FOOT, HEAD);
  const step = (WIDTH - 2 * EDGE) / flows.length;
  const x = (/** @type {number} */ year) => EDGE + (year + 1 / 2) * step;
  const back = sums.findIndex((sum) => sum >= 0);
  const title = say('pictures.cash-flow', { currency });
  const told = [
    ...flows.map((flow, year) =>
      say('pictures.of-year', { year, flow: amount(flow, currency), sum: amount(sums[year], currency) }),
    ),
    back > 0 ? say('pictures.paid-back', { year: back }) : say('pictures.never-back'),
  ].join(' ');
  return html`<figure class="stack"><figcaption class="strong">${title}</figcaption>
    <svg class="picture" viewBox=${`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label=${`${title}: ${told}`}>
    ${flows.map(
      (flow, year) =>
        html`<rect key=${year} class="swing ${flow < 0 ? 'out' : ''}" x=${x(year) - (step * (1 - GAP_SHARE)) / 2} width=${step * (1 - GAP_SHARE)} y=${Math.min(y(flow), y(0))} height=${Math.max(1, Math.abs(y(flow) - y(0)))} />`,
    )}
    <line class="axis" x1="0" x2=${WIDTH} y1=${y(0)} y2=${y(0)} />
    <polyline class="line" points=${sums.map((sum, year) => `${x(year)},${y(sum)}`).join(' ')} />
    <text class="end" x="0" y=${HEAD - 10}>${number(Math.max(...flows, ...sums))}</text>
    ${flows.map((_, year) => year % YEARS_BETWEEN === 0 && html`<text key=${year} x=${x(year)} y=${HEIGHT - 6} text-anchor="middle">${year}</text>`)}
    </svg>
    <p class="muted small">${say('pictures.cash-flow-about')} ${back > 0 ? say('pictures.paid-back', { year: back }) : say('pictures.never-back')}</p>
  </figure>`;
}

/** From what is saved to the net present value, each part a bar from where the last one ended. @param {{life: LifeTold, currency: string}} props */
export function WhereFrom({ life, currency }) {
  const { terms, measures, net_cost: net } = life;
  /** @type {Array<[string, number]>} */
  const parts = [
    ['life.energy-worth', terms.energy_worth],
    ['life.upkeep-worth', terms.upkeep_worth],
    ['life.residual-worth', terms.residual_worth],
    ['life.short-worth', -terms.short_worth],
    ['life.replaced-worth', -terms.replaced_worth],
    ['life.net-cost', -net],
  ];
  let end = 0;
  const bars = parts
    .filter(([, by]) => by)
    .map(([name, by]) => {
      const from = end;
      end += by;
      return { name, by, from, to: end };
    });
  bars.push({ name: 'life.npv', by: measures.npv, from: 0, to: measures.npv });
  const at = scaleOf(
    bars.flatMap(({ from, to }) => [from, to]),
    1,
    WIDTH - 1,
  );
  const title = say('pictures.where-from', { currency });
  const told = bars.map(({ name, by }) => `${say(name)}: ${amount(by, currency)}.`).join(' ');
  const height = bars.length * ROW;
  return html`<figure class="stack"><figcaption class="strong">${title}</figcaption>
    <svg class="picture" viewBox=${`0 0 ${WIDTH} ${height}`} role="img" aria-label=${`${title}: ${told}`}>
    ${bars.map(
      ({ name, by, from, to }, place) => html`<g key=${name}>
      <text x="0" y=${place * ROW + BAR}>${say(name)}</text>
      <text class="end" x=${WIDTH} y=${place * ROW + BAR} text-anchor="end">${by < 0 ? '−' : '+'} ${number(Math.abs(by))}</text>
      <rect class="swing ${by < 0 ? 'out' : ''}" x=${at(Math.min(from, to))} width=${Math.max(1, at(Math.max(from, to)) - at(Math.min(from, to)))} y=${place * ROW + BAR + 6} height=${BAR - 4} />
      <line class="base" x1=${at(0)} x2=${at(0)} y1=${place * ROW + BAR + 2} y2=${place * ROW + 2 * BAR + 6} />
    </g>`,
    )}
    </svg></figure>`;
}
