// The verdict as a drawing: two socket faces and the bar between them. Small it says which of five; grown, both ends
// stand enlarged and to scale, with the middle broken out, and what the length is taken up by is told apart.

import { html } from '../html.js';
import { lengthIn, lengthText, mmText, say } from '../words.js';

/** @typedef {{verdict: string, clearance_ticks: number | null, terms: Record<string, number>, degree?: Degree}} Fit */
/** @typedef {'ends' | 'spare' | 'warmth' | 'tolerance' | 'missing'} Part */

/** @type {Record<string, string>} */
const CLASSES = { fits: 'fits', tight: 'tight', 'too long': 'too-long' };
/** @type {Record<string, string>} */
const OF_DEGREE = {
  'so-far': 'so-far',
  tight: 'tight',
  'too-long': 'too-long',
  'cannot-tell': 'unmeasured',
  never: 'unmeasured',
};

/** How a verdict looks: as a 'fits' only what could be released, where that is known. @param {Fit | null | undefined} fit */
export function verdictClass(fit) {
  if (fit?.degree) return fit.degree.releasable ? 'fits' : OF_DEGREE[fit.degree.degree];
  return CLASSES[fit?.verdict ?? ''] ?? 'unmeasured';
}

/** Where the bar of the small drawing ends, from the left socket's face [units of the drawing]. @type {Record<string, number>} */
const SMALL_GAPS = { fits: 9, 'so-far': 9, tight: 0, 'too-long': -7, unmeasured: 9 };

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
 * What the length between the sockets, less the bar, is taken up by, both ends together [1/320 mm], from the sockets to
 * the bar: the room wanted at the ends, what is to spare, what warmth may take, what the bar's tolerance may take; last
 * what is missing of all that. Null where the bar is too long as it is, or nothing is proved.
 *
 * @param {Fit} fit @returns {[Part, number][] | null}
 */
export function partsOf({ clearance_ticks: clearance, terms, verdict }) {
  if (clearance === null || clearance === undefined || verdict === 'too long') return null;
  if (terms.end_gaps_ticks === undefined) return null;
  return [
    ['ends', terms.end_gaps_ticks],
    ['spare', Math.max(clearance, 0)],
    ['warmth', terms.change_ticks],
    ['tolerance', terms.tolerance_ticks],
    ['missing', Math.max(-clearance, 0)],
  ];
}

/**
 * From a socket's face to the bar as it is nominally, at one end [1/320 mm]; below 0 where it is too long; null where no
 * cavity is known.
 *
 * @param {Fit} fit
 */
export function gapOf(fit) {
  const parts = partsOf(fit);
  if (parts)
    return parts.reduce((total, [part, ticks]) => total + (part === 'missing' ? -ticks : ticks), 0) / 2;
  const nominal = fit.terms.nominal_clearance_ticks ?? fit.clearance_ticks;
  return nominal === undefined || nominal === null ? null : nominal / 2;
}

/** Pixels for a mark at the ends. @param {number} gap @param {number} beyond how far something reaches behind the face */
function scaleOf(gap, beyond) {
  const inward = ROOM_INWARD / Math.max(gap, LEAST_SHOWN_TICKS);
  return beyond > 0 ? Math.min(inward, ROOM_OUTWARD / beyond) : inward;
}

/** @param {{fit: Fit | null | undefined, label: string, units?: 'in' | 'mm'}} props without units: in millimetres */
export function FitDrawing({ fit, label, units }) {
  const look = verdictClass(fit);
  const known = fit ? gapOf(fit) : null;
  const parts = (fit && partsOf(fit)) ?? [];
  const missing = parts.find(([part]) => part === 'missing')?.[1] ?? 0;
  const gap = known ?? 1920;
  const scale = scaleOf(gap, Math.max(missing / 2, -gap));
  const at = FACE + gap * scale;
  const mark = SCALE_MARKS[units ?? 'mm'].find((ticks) => ticks * scale <= 88);
  const end = html`<${End} at=${at} parts=${parts.map(([part, ticks]) => [part, (ticks / 2) * scale])} />`;
  return html`<svg class="fit full ${look}" viewBox="0 0 ${WIDTH} 128" role="img" aria-label=${label}>
    ${end}
    <g transform="translate(${WIDTH} 0) scale(-1 1)">${end}</g>
    <path class="broken" d="M158 30 l6 14 l-6 14 l6 14 M168 30 l6 14 l-6 14 l6 14" />
    ${known !== null && mark && html`<${ScaleMark} text=${lengthIn(mark, units ?? 'mm')} width=${mark * scale} />`}
    ${known !== null && known >= 0 && !parts.length && html`<${Gaps} at=${at} gap=${known} units=${units} />`}
    ${known === null && html`<text x=${WIDTH / 2} y="104" text-anchor="middle">${say('page.not-measured-yet')}</text>`}
  </svg>`;
}

/** Both gaps with their length, where nothing is told of what takes them up. @param {{at: number, gap: number, units?: 'in' | 'mm'}} props */
function Gaps({ at, gap, units }) {
  const text = units ? lengthIn(Math.round(gap), units) : `${mmText(Math.round(gap))} mm`;
  return html`<${Measure} from=${FACE} to=${at} text=${text} />
    <${Measure} from=${WIDTH - FACE} to=${WIDTH - at} text=${text} />`;
}

/** Socket and end of the bar, at the left, and what lies between, from the bar outward. @param {{at: number, parts: [Part, number][]}} props */
function End({ at, parts }) {
  const widths = Object.fromEntries(parts);
  let to = at;
  const laid = /** @type {const} */ (['tolerance', 'warmth', 'spare', 'ends']).map((part) => {
    to -= widths[part] ?? 0;
    return /** @type {[Part, number, number]} */ ([part, to, widths[part] ?? 0]);
  });
  return html`<g>
    <path class="body" d="M4 22 H${BREAK + 20} M4 80 H${BREAK + 20}" />
    <rect class="socket" x=${FACE - SOCKET} y="26" width=${SOCKET} height="50" />
    ${laid.map(([part, from, width]) => width > 0.5 && html`<${PartOf} part=${part} x=${from} y=${34} width=${width} height=${34} />`)}
    ${widths.missing > 0.5 && html`<${PartOf} part="missing" x=${FACE - widths.missing} y=${34} width=${widths.missing} height=${34} />`}
    <path class="bar" d="M${BREAK + 18} 40 H${at} V62 H${BREAK + 18}" />
    <path class="face" d="M${FACE} 24 V78" />
  </g>`;
}

/** Lines at equal distances. @param {number} from @param {number} size @param {number} step */
const lines = (from, size, step) =>
  Array.from({ length: Math.max(0, Math.floor((size - 1) / step)) }, (_, at) => from + step * (at + 1));

/**
 * One part, told by its filling and not by its colour: the ends empty, what is to spare full, warmth by level lines,
 * tolerance by upright ones, what is missing by both.
 *
 * @param {{part: Part, x: number, y: number, width: number, height: number}} props
 */
function PartOf({ part, x, y, width, height }) {
  const level = part === 'warmth' || part === 'missing' ? lines(y, height, 5) : [];
  const upright = part === 'tolerance' || part === 'missing' ? lines(x, width, 4) : [];
  const path = [
    ...level.map((at) => `M${x} ${at} h${width}`),
    ...upright.map((at) => `M${at} ${y} v${height}`),
  ];
  return html`<g class="part ${part}">
    <rect x=${x} y=${y} width=${width} height=${height} />
    ${path.length > 0 && html`<path d=${path.join(' ')} />`}
  </g>`;
}

/** The parts by name and length, both ends together, each with the filling that it has in the drawing. @param {{fit: Fit}} props */
export function FitParts({ fit }) {
  const parts = partsOf(fit)?.filter(([part, ticks]) => ticks > 0 || part === 'spare');
  if (!parts) return null;
  const isMissing = parts.some(([part]) => part === 'missing');
  return html`<ul class="fit-parts fit ${verdictClass(fit)}">
    ${parts
      .filter(([part]) => !(isMissing && part === 'spare'))
      .map(
        ([part, ticks]) => html`<li key=${part} data-part=${part}>
          <svg viewBox="0 0 28 18" width="28" height="18" aria-hidden="true"><${PartOf} part=${part} x=${1} y=${1} width=${26} height=${16} /></svg>
          <span>${say(`drawing.${part}`)}</span>
          <span class="measure">${lengthText(ticks)}</span>
        </li>`,
      )}
  </ul>`;
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
