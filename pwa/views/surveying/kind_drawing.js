// A kind drawn to one scale for all tiles: how long its lamps are, how thick, in how many rows and how many end to end.

import { html } from '../html.js';

/** So much of the drawing is a foot of lamp. */
const FOOT = 13;
const WIDTH = 8 * FOOT + 8;
const HEIGHT = 48;
/** A lamp is drawn so thick for each eighth of an inch of its diameter: T8 has eight of them. */
const EIGHTH = 0.55;
const GAP = 2;

/** @param {string | undefined} text @returns {number} the number in 'T8', '4-ft'; 0 where there is none */
const numberIn = (text) => Number.parseFloat((text ?? '').replace('T', '')) || 0;

/**
 * What is drawn of a kind's lamps, in the drawing's own measure.
 *
 * @param {ValueOf<'kind', 'lamps'>} lamps
 * @returns {{lines: Array<{x1: number, x2: number, y: number}>, thick: number} | null} null where nobody has seen length or diameter
 */
export function drawnLamps({ diameter, nominal_ft: nominal, rows = 1, lamps_end_to_end: inARow = 1 }) {
  const [eighths, feet] = [numberIn(diameter), numberIn(nominal)];
  if (!eighths || !feet) return null;
  const [thick, length] = [eighths * EIGHTH, feet * FOOT];
  const shown = Math.min(inARow, Math.max(1, Math.floor((8 * FOOT) / length)));
  const pitch = (HEIGHT - 8) / rows;
  const lines = Array.from({ length: rows }, (_, row) => {
    const y = 4 + pitch * (row + 0.5);
    return Array.from({ length: shown }, (_each, at) => ({
      x1: 4 + at * length,
      x2: 4 + (at + 1) * length - (shown > 1 ? GAP : 0),
      y,
    }));
  }).flat();
  return { lines, thick: Math.min(thick, pitch) };
}

/** @param {{lamps: ValueOf<'kind', 'lamps'> | undefined}} props */
export function KindDrawing({ lamps }) {
  const drawn = drawnLamps(lamps ?? {});
  return html`<svg class="kind-drawing" viewBox="0 0 ${WIDTH} ${HEIGHT}" aria-hidden="true">
    <rect x="0.5" y="0.5" width=${WIDTH - 1} height=${HEIGHT - 1} />
    ${
      drawn
        ? drawn.lines.map(
            ({ x1, x2, y }) =>
              html`<path key=${`${x1} ${y}`} class="lamp" d="M${x1} ${y} H${x2}" stroke-width=${drawn.thick} />`,
          )
        : html`<path class="not-seen" d="M8 ${HEIGHT / 2} H${WIDTH - 8}" />`
    }
  </svg>`;
}
