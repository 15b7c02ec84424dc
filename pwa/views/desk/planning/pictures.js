// Pictures of what tables beside them say in numbers: cost against light, and what a figure hangs on most.

import { html } from '../../html.js';
import { say } from '../../words.js';
import { amount, number } from '../parts.js';
import { scaleOf, WIDTH } from '../picture_scale.js';

const EDGE = 12;
const LABEL = 104;
const ROW = 44;
const BAR = 20;
const BOTH_AMOUNTS = 140;
const HEIGHT = 260;
const FOOT = 34;
/** A fifth less, as it is, a fifth more. */
const STEPS = 3;

/** What the net present value hangs on: a bar for each, the widest first. @param {{swings: NonNullable<Swings>, inputs: Array<[string, string]>, currency: string}} props */
export function Tornado({ swings, inputs, currency }) {
  const bars = inputs
    .map(([input, title]) => ({ title: say(title), values: swings[input].flatMap(({ npv }) => npv ?? []) }))
    .filter(({ values }) => values.length === STEPS)
    .map(({ title, values }) => ({
      title,
      low: Math.min(...values),
      high: Math.max(...values),
      base: values[1],
    }))
    .sort((a, b) => b.high - b.low - (a.high - a.low));
  if (bars.length === 0) return null;
  const at = scaleOf(
    bars.flatMap(({ low, high }) => [low, high]),
    LABEL + EDGE,
    WIDTH - 4 * EDGE,
  );
  const height = bars.length * ROW + EDGE;
  const told = bars
    .map(({ title, low, high }) =>
      say('pictures.from-to', { title, low: amount(low, currency), high: amount(high, currency) }),
    )
    .join(' ');
  return html`<svg class="picture" viewBox=${`0 0 ${WIDTH} ${height}`} role="img" aria-label=${`${say('pictures.tornado')} ${told}`}>
    ${bars.map(
      ({ title, low, high }, place) => html`<g key=${title}>
      <text x="0" y=${place * ROW + ROW / 2 + 6}>${title}</text>
      <rect class="swing" x=${at(low)} y=${place * ROW + ROW - BAR} width=${Math.max(1, at(high) - at(low))} height=${BAR - 4} />
      <${Ends} low=${low} high=${high} at=${at} y=${place * ROW + ROW - BAR} />
    </g>`,
    )}
    <line class="base" x1=${at(bars[0].base)} x2=${at(bars[0].base)} y1="0" y2=${height} />
  </svg>`;
}

/** A bar's two amounts: above it, or beside one that is too short for both. @param {{low: number, high: number, at: (value: number) => number, y: number}} props */
function Ends({ low, high, at, y }) {
  const beside = at(high) - at(low) < BOTH_AMOUNTS;
  const [from, to] = beside ? ['end', 'start'] : ['start', 'end'];
  const line = beside ? y + BAR / 2 + 4 : y - 4;
  return html`<text class="end" x=${at(low) - (beside ? 6 : 0)} y=${line} text-anchor=${from}>${number(low)}</text>
    <text class="end" x=${at(high) + (beside ? 6 : 0)} y=${line} text-anchor=${to}>${number(high)}</text>`;
}

/** Life-cycle cost against light of what passes, with what is proposed. @param {{plan: GroupPlan, currency: string}} props */
export function CostAndLight({ plan, currency }) {
  const points = plan.feasible
    .map(({ arrangement, money, light }) => ({
      arrangement,
      cost: money.lcc,
      light: light.share_of_today_pct,
    }))
    .filter((each) => typeof each.cost === 'number' && typeof each.light === 'number');
  if (points.length < 2) return null;
  const x = scaleOf(
    points.map(({ light }) => light ?? 0),
    2 * EDGE,
    WIDTH - 2 * EDGE,
  );
  const y = scaleOf(
    points.map(({ cost }) => cost ?? 0),
    HEIGHT - FOOT - EDGE,
    2 * EDGE + 16,
  );
  const [first] = points;
  const told = points
    .map(({ arrangement, cost, light }) =>
      say('pictures.point', { arrangement, cost: amount(cost, currency), light: number(light) }),
    )
    .join(' ');
  const lights = points.map(({ light }) => number(light));
  const [dim, bright] = [lights[place(points, -1)], lights[place(points, 1)]];
  const dearest = points.reduce((most, each) => ((each.cost ?? 0) > (most.cost ?? 0) ? each : most));
  return html`<figure class="stack"><figcaption class="strong">${say('pictures.cost-and-light', { currency })}</figcaption>
    <svg class="picture" viewBox=${`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label=${`${say('pictures.cost-and-light', { currency })}: ${told}`}>
    <line class="axis" x1="0" x2=${WIDTH} y1=${HEIGHT - FOOT} y2=${HEIGHT - FOOT} />
    ${points
      .slice(1)
      .map(
        ({ arrangement, cost, light }) =>
          html`<circle key=${arrangement} class="point" cx=${x(light ?? 0)} cy=${y(cost ?? 0)} r="6" />`,
      )}
    <circle class="point chosen" cx=${x(first.light ?? 0)} cy=${y(first.cost ?? 0)} r="8" />
    ${[...new Set([first, dearest])].map(({ arrangement, cost, light }) => {
      const right = x(light ?? 0) > WIDTH / 2;
      return html`<text key=${arrangement} class="end" x=${x(light ?? 0) + (right ? -14 : 14)} y=${y(cost ?? 0) + 5} text-anchor=${right ? 'end' : 'start'}>${number(cost)}</text>`;
    })}
    ${
      dim === bright
        ? html`<text x=${WIDTH / 2} y=${HEIGHT - 8} text-anchor="middle">${say('pictures.light', { light: dim })}</text>`
        : html`<text x="0" y=${HEIGHT - 8}>${say('pictures.share', { light: dim })}</text>
          <text x=${WIDTH / 2} y=${HEIGHT - 8} text-anchor="middle">${say('pictures.of-today')}</text>
          <text x=${WIDTH} y=${HEIGHT - 8} text-anchor="end">${say('pictures.share', { light: bright })}</text>`
    }
  </svg></figure>`;
}

/** Where the dimmest (-1) or brightest (1) stands. @param {Array<{light?: number}>} points @param {1 | -1} way */
const place = (points, way) =>
  points.reduce(
    (best, { light }, at) => (((light ?? 0) - (points[best].light ?? 0)) * way > 0 ? at : best),
    0,
  );
