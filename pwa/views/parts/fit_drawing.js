// The verdict as a drawing: two socket faces and the bar between them. Small it says which of four; grown, both ends
// stand enlarged and to scale, with the middle broken out.

import { formatMm } from '../../rules/lengths.js';
import { html } from '../html.js';
import { lengthIn, say } from '../words.js';

/** @typedef {{verdict: string, clearance_ticks: number | null, terms: Record<string, number>}} Fit */

const CLASSES = /** @type {Record<string, string>} */ ({
  fits: 'fits',
  tight: 'tight',
  'too long': 'too-long',
});

/** @param {Fit | null | undefined} fit */
export const verdictClass = (fit) => CLASSES[fit?.verdict ?? ''] ?? 'unmeasured';

/** Where the bar of the small drawing ends, from the left socket's face [units of the drawing]. @type {Record<string, number>} */
const SMALL_GAPS = { fits: 9, tight: 0, 'too-long': -7, unmeasured: 9 };

/** @param {{fit: Fit | null | undefined, label: string}} props `label`: '' where words beside it say the same */
export function SmallFit({ fit, label }) {
  const look = verdictClass(fit);
  const from = 13 + SMALL_GAPS[look];
  return html`<svg class="fit small ${look}" viewBox="0 0 96 32" width="96" height="32" role=${label ? 'img' : null}
    aria-label=${label || null} aria-hidden=${label ? null : 'true'}>
    <rect class="socket" x="4" y="4" width="9" height="24" />
    <rect class="socket" x="83" y="4" width="9" height="24" />
    <rect class="bar" x=${from} y="10" width=${96 - 2 * from} height="12" />
  </svg>`;
}

const WIDTH = 328;
const FACE = 44;
const SOCKET = 26;
const BREAK = 140;
const ROOM_INWARD = 72;
const ROOM_OUTWARD = 32;
/** Gaps smaller than this are not blown up further, so that a hair does not look like a hand [1/320 mm]. */
const LEAST_SHOWN_TICKS = 960;
/** Lengths of the mark that tells the scale of the ends [1/320 mm]: round ones of each unit. */
const SCALE_MARKS = {
  mm: [50, 20, 10, 5, 2, 1].map((mm) => mm * 320),
  in: [2, 1, 1 / 2, 1 / 4, 1 / 8, 1 / 16].map((inches) => inches * 8128),
};

/**
 * What stands at one end of the row, as lengths [1/320 mm]: from the socket's face to the bar as it is nominally, and
 * how much of that the bar may take with its tolerance, warm; null where no cavity is known.
 *
 * @param {Fit} fit
 */
export function endOf({ clearance_ticks: clearance, terms }) {
  const taken = ((terms.tolerance_ticks ?? 0) + (terms.change_ticks ?? 0)) / 2;
  if (clearance !== null && clearance !== undefined)
    return { gap_ticks: (clearance + (terms.end_gaps_ticks ?? 0)) / 2 + taken, taken_ticks: taken };
  if (terms.nominal_clearance_ticks === undefined) return null;
  return { gap_ticks: terms.nominal_clearance_ticks / 2, taken_ticks: taken };
}

/** Pixels for a tick at the ends. @param {number} gap @param {number} taken */
function scaleOf(gap, taken) {
  const inward = ROOM_INWARD / Math.max(gap, LEAST_SHOWN_TICKS);
  const reach = taken - gap;
  return reach > 0 ? Math.min(inward, ROOM_OUTWARD / reach) : inward;
}

/** @param {{fit: Fit | null | undefined, label: string, units?: 'in' | 'mm'}} props without units: in millimetres */
export function FitDrawing({ fit, label, units }) {
  const look = verdictClass(fit);
  const end = fit ? endOf(fit) : null;
  const gap = end?.gap_ticks ?? 1920;
  const taken = end?.taken_ticks ?? 0;
  const scale = scaleOf(gap, taken);
  const at = FACE + gap * scale;
  const mark = SCALE_MARKS[units ?? 'mm'].find((ticks) => ticks * scale <= 88);
  const text = units ? lengthIn(Math.round(gap), units) : `${formatMm(Math.round(gap))} mm`;
  return html`<svg class="fit full ${look}" viewBox="0 0 ${WIDTH} 128" role="img" aria-label=${label}>
    <${End} at=${at} taken=${taken * scale} />
    <g transform="translate(${WIDTH} 0) scale(-1 1)"><${End} at=${at} taken=${taken * scale} /></g>
    <path class="broken" d="M158 30 l6 14 l-6 14 l6 14 M168 30 l6 14 l-6 14 l6 14" />
    ${
      end &&
      html`<${Measure} from=${FACE} to=${at} text=${text} />
      <${Measure} from=${WIDTH - FACE} to=${WIDTH - at} text=${text} />
      ${mark && html`<${ScaleMark} text=${lengthIn(mark, units ?? 'mm')} width=${mark * scale} />`}`
    }
    ${!end && html`<text x=${WIDTH / 2} y="104" text-anchor="middle">${say('page.not-measured-yet')}</text>`}
  </svg>`;
}

/** Socket and end of the bar, at the left. @param {{at: number, taken: number}} props */
function End({ at, taken }) {
  return html`<g>
    <path class="body" d="M4 22 H${BREAK + 20} M4 80 H${BREAK + 20}" />
    <rect class="socket" x=${FACE - SOCKET} y="26" width=${SOCKET} height="50" />
    ${taken > 0.5 && html`<rect class="taken" x=${at - taken} y="40" width=${taken} height="22" />`}
    <path class="bar" d="M${BREAK + 18} 40 H${at} V62 H${BREAK + 18}" />
    <path class="face" d="M${FACE} 24 V78" />
  </g>`;
}

/** A gap with its length under it. @param {{from: number, to: number, text: string}} props */
function Measure({ from, to, text }) {
  const middle = Math.min(Math.max((from + to) / 2, 36), WIDTH - 36);
  return html`<g class="dimension">
    <path d="M${from} 82 V94 M${to} 82 V94 M${from} 88 H${to}" />
    <text x=${middle} y="112" text-anchor="middle">${text}</text>
  </g>`;
}

/** @param {{text: string, width: number}} props */
function ScaleMark({ text, width }) {
  const from = (WIDTH - width) / 2;
  return html`<g class="scale">
    <path d="M${from} 100 v4 h${width} v-4" />
    <text x=${WIDTH / 2} y="122" text-anchor="middle">${say('page.ends', { text })}</text>
  </g>`;
}
