// The share of an item that has failed over the hours it burned, as steps with their range, beside what its data sheet says.

import { html } from '../../html.js';
import { say } from '../../words.js';
import { number, Table } from '../parts.js';

/** @typedef {{hours: number, at_work: number, failed: number, failed_pct: number, low_pct: number | null, high_pct: number | null}} Step */
/** @typedef {{steps: Step[], units: number, left_out: number, longest_h: number, failed_pct_by_life: number | null, expected: {failed: number, expected: number, by_chance_pct: number} | null}} Curve */

/** Drawn as wide as a phone shows it, so that letters keep their size. */
const [WIDTH, HEIGHT, LEFT, FOOT, TOP] = [340, 220, 68, 34, 12];
const POINTS = 24;
/** Where fewer are at work, one failure more or less moves the curve by a tenth and more. */
const FEW = 10;
/** Rarer than this by chance alone, it is said to be more than expected [%]. */
const RARE_PCT = 5;

/** @param {{code: string, life: number | null, curve: Curve}} props */
export function FailureCurve({ code, life, curve }) {
  const { steps, units, left_out: leftOut, expected } = curve;
  if (steps.length === 0) return null;
  return html`<details class="stack"><summary class="turn">${say('memory.curve.of', { item: code })}</summary>
    ${expected && html`<p class=${expected.by_chance_pct < RARE_PCT && expected.failed > expected.expected ? 'notice bad' : ''}>${say('memory.curve.against', { failed: expected.failed, expected: number(Number(expected.expected.toFixed(1))), chance: chanceText(expected.by_chance_pct) })}</p>`}
    ${!expected && html`<p class="muted small">${say('memory.curve.no-expectation')}</p>`}
    <${Picture} code=${code} life=${life} curve=${curve} />
    ${Math.min(...steps.map(({ at_work: atWork }) => atWork)) < FEW && html`<p class="muted small">${say('memory.curve.few', { few: FEW })}</p>`}
    <p class="muted small">${say('memory.curve.about', { units })} ${expected && say('memory.curve.dashed')} ${leftOut > 0 && say('memory.curve.left-out', { count: leftOut })}</p>
    <${Table} caption=${say('memory.curve.of', { item: code })} stacks numbers=${[0, 1, 2, 3]}
      heads=${[say('memory.curve.hours'), say('memory.curve.at-work'), say('memory.curve.failed-then'), say('memory.curve.failed-by')]}
      rows=${steps.map((step) => [number(step.hours), number(step.at_work), number(step.failed), shareText(step)])} />
  </details>`;
}

/** @param {Step} step */
function shareText({ failed_pct: share, low_pct: low, high_pct: high }) {
  const told = `${share.toFixed(1)} %`;
  return low === null || high === null ? told : `${told} (${low.toFixed(1)}–${high.toFixed(1)})`;
}

/** @param {number} pct */
const chanceText = (pct) => (pct < 0.1 ? '< 0.1' : pct.toFixed(1));

/** @param {{code: string, life: number | null, curve: Curve}} props */
function Picture({ code, life, curve }) {
  const { steps, longest_h: longest, failed_pct_by_life: byLife } = curve;
  const toHours = Math.max(longest, 1);
  const expected = life && byLife ? expectedLine(life, byLife, toHours) : [];
  const most = Math.max(
    ...steps.map(({ failed_pct: share, high_pct: high }) => high ?? share),
    ...expected.map(([, share]) => share),
    1,
  );
  const x = (/** @type {number} */ hours) => LEFT + (hours / toHours) * (WIDTH - LEFT - 8);
  const y = (/** @type {number} */ share) =>
    HEIGHT - FOOT - (Math.min(share, most) / most) * (HEIGHT - FOOT - TOP);
  const line = (/** @type {Array<[number, number]>} */ points) =>
    points.map(([hours, share]) => `${x(hours).toFixed(1)},${y(share).toFixed(1)}`).join(' ');
  const told = steps
    .map((step) => say('memory.curve.step', { hours: number(step.hours), share: shareText(step) }))
    .join(' ');
  return html`<svg class="picture" viewBox=${`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label=${`${say('memory.curve.of', { item: code })}: ${told}`}>
    <polygon class="range" points=${line(rangeOf(steps, toHours))} />
    ${expected.length > 0 && html`<polyline class="expected" points=${line(expected)} />`}
    <polyline class="curve" points=${line(stairs(steps, toHours))} />
    <line class="axis" x1=${LEFT} x2=${WIDTH} y1=${HEIGHT - FOOT} y2=${HEIGHT - FOOT} />
    <text class="end" x=${LEFT - 6} y=${TOP + 10} text-anchor="end">${most.toFixed(most < 10 ? 1 : 0)} %</text>
    <text class="end" x=${LEFT - 6} y=${HEIGHT - FOOT} text-anchor="end">0</text>
    <text x=${LEFT} y=${HEIGHT - 8}>0 h</text>
    <text x=${WIDTH} y=${HEIGHT - 8} text-anchor="end">${number(toHours)} h</text>
  </svg>`;
}

/** Corners of the steps, from nothing to the longest time. @param {Step[]} steps @param {number} toHours @returns {Array<[number, number]>} */
export function stairs(steps, toHours) {
  /** @type {Array<[number, number]>} */
  const points = [[0, 0]];
  for (const { hours, failed_pct: share } of steps)
    points.push([hours, points[points.length - 1][1]], [hours, share]);
  return [...points, [toHours, points[points.length - 1][1]]];
}

/** Corners of the range, out along its upper end and back along its lower one. @param {Step[]} steps @param {number} toHours @returns {Array<[number, number]>} */
export function rangeOf(steps, toHours) {
  const end = (/** @type {'low_pct' | 'high_pct'} */ side) =>
    stairs(
      steps.map((step) => ({ ...step, failed_pct: step[side] ?? step.failed_pct })),
      toHours,
    );
  return [...end('high_pct'), ...end('low_pct').reverse()];
}

/** What the data sheet makes one expect, by a failure rate that stays the same. @param {number} life @param {number} byLife @param {number} toHours @returns {Array<[number, number]>} */
export function expectedLine(life, byLife, toHours) {
  return Array.from({ length: POINTS + 1 }, (_, place) => {
    const hours = (toHours * place) / POINTS;
    return [hours, 100 * (1 - (1 - byLife / 100) ** (hours / life))];
  });
}
