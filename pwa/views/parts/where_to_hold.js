// Where the tape is held, for each cap: what a bar will have to pass between. Common practice, no source.

import { html } from '../html.js';
import { say } from '../words.js';

/** @typedef {{left: 'socket' | 'single' | 'recessed' | 'pair', right: 'socket' | 'single' | 'recessed' | 'plate', from: number, to: number, code: string}} Held */

/** What stands at each end, and from where to where the tape goes [units of the drawing]. @type {Record<string, Held>} */
const BY_CAP = {
  G5: { left: 'socket', right: 'socket', from: 40, to: 288, code: 'hold.pins' },
  G13: { left: 'socket', right: 'socket', from: 40, to: 288, code: 'hold.pins' },
  'single-pin': { left: 'single', right: 'single', from: 48, to: 280, code: 'hold.single-pin' },
  'recessed-contact': {
    left: 'recessed',
    right: 'recessed',
    from: 52,
    to: 276,
    code: 'hold.recessed-contact',
  },
  'U-bend': { left: 'pair', right: 'plate', from: 40, to: 312, code: 'hold.u-bend' },
};
/** @type {Held} */
const NOT_SEEN = { left: 'socket', right: 'socket', from: 40, to: 288, code: 'hold.not-seen' };

/** @param {ValueOf<'kind', 'lamps'>} lamps of the kind */
export const heldFor = ({ cap }) => BY_CAP[cap ?? ''] ?? NOT_SEEN;

/**
 * A drawing of both ends with the tape between them, and the same in words.
 *
 * @param {{lamps: ValueOf<'kind', 'lamps'>}} props
 */
export function WhereToHold({ lamps }) {
  const { left, right, from, to, code } = heldFor(lamps);
  return html`<figure class="where-to-hold" data-cap=${lamps.cap ?? 'not-seen'}>
    <svg class="fit full" viewBox="0 0 328 96" role="img" aria-label=${say('hold.drawing')}>
      <path class="body" d="M12 8 H316 M12 72 H316" />
      <${Holder} what=${left} />
      <g transform="translate(328 0) scale(-1 1)"><${Holder} what=${right} /></g>
      <path class="tape" d="M${from} 40 H${to} M${from} 32 V48 M${to} 32 V48 M${from + 9} 35 L${from} 40 L${from + 9} 45 M${to - 9} 35 L${to} 40 L${to - 9} 45" />
      <text x="164" y="90" text-anchor="middle">${say('hold.here')}</text>
    </svg>
    <figcaption class="small">${say(code)}</figcaption>
  </figure>`;
}

/** What stands at an end, drawn at the left. @param {{what: Held['left'] | Held['right']}} props */
function Holder({ what }) {
  if (what === 'plate')
    return html`<path class="face" d="M16 8 V72" /><path class="clip" d="M16 56 h30 v10" />`;
  if (what === 'pair')
    return html`<path class="body" d="M16 8 V72" /><rect class="socket" x="20" y="12" width="20" height="22" /><rect class="socket" x="20" y="46" width="20" height="22" /><path class="face" d="M40 12 V34 M40 46 V68" />`;
  return html`<path class="body" d="M16 8 V72" /><rect class="socket" x="20" y="18" width="20" height="44" />
    <path class="face" d="M40 18 V62" />
    ${what === 'single' && html`<rect class="socket" x="40" y="34" width="8" height="12" />`}
    ${what === 'recessed' && html`<rect class="socket" x="40" y="30" width="12" height="20" />`}`;
}
