// A whole row to scale: two socket faces and the bars between them.

import { html } from '../html.js';

const WIDTH = 328;
const EDGE = 12;
const TOP = 14;
const THICK = 16;
/** Narrower than this a gap cannot be seen [px]; the enlarged ends tell its size. */
const LEAST_PX = 1.5;

/**
 * Where each bar lies between the sockets [px from the left edge].
 *
 * @param {number} cavity @param {Array<{length_ticks: number}>} bars @param {number} gap [1/320 mm]
 */
export function barPlaces(cavity, bars, gap) {
  const scale = (WIDTH - 2 * EDGE) / cavity;
  const together = bars.reduce((sum, bar) => sum + bar.length_ticks, 0);
  const joint = bars.length > 1 ? Math.max(0, (cavity - 2 * gap - together) / (bars.length - 1)) : 0;
  let from = EDGE + Math.max(gap * scale, LEAST_PX);
  return bars.map((bar) => {
    const place = { x: from, width: bar.length_ticks * scale };
    from += place.width + joint * scale;
    return place;
  });
}

/** @param {{cavity: number, bars: CardRow['bars'], gap: number | null, label: string}} props */
export function RowDrawing({ cavity, bars, gap, label }) {
  const places = barPlaces(cavity, bars, gap ?? 0);
  return html`<svg class="row-drawing" viewBox="0 0 ${WIDTH} 58" role="img" aria-label=${label}>
    <rect class="socket" x="2" y="6" width=${EDGE - 2} height="32" />
    <rect class="socket" x=${WIDTH - EDGE} y="6" width=${EDGE - 2} height="32" />
    ${places.map(
      ({ x, width }, at) => html`<g key=${at}>
      <rect class="bar" x=${x} y=${TOP} width=${Math.max(width - LEAST_PX, LEAST_PX)} height=${THICK} />
      <text x=${x + width / 2} y="52" text-anchor="middle">${bars[at].name}</text>
    </g>`,
    )}
  </svg>`;
}
