// An arrow over a photo: drawn when the photo is shown, kept beside it, never in its bytes.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { say } from '../words.js';
import { arrowNudged, arrowTo, drawnArrow, STEPS, turned } from './geometry.js';

/** @typedef {import('./geometry.js').Arrow} Arrow */
/** @typedef {import('./geometry.js').Size} Size */

/** An arrow as it is kept, if it is whole. @param {RecordView<'photo'>} photo @returns {Arrow | null} */
export function arrowOf({ facets: { mark } }) {
  const { from_x, from_y, to_x, to_y } = mark ?? {};
  if (from_x === undefined || from_y === undefined || to_x === undefined || to_y === undefined) return null;
  return { from_x, from_y, to_x, to_y };
}

/** @param {{arrow: Arrow | null, size: Size}} props */
export function ArrowOver({ arrow, size }) {
  if (!arrow) return null;
  const { shaft, head, breadth } = drawnArrow(arrow, size);
  const { x1, y1, x2, y2 } = shaft;
  return html`<svg class="arrow-over" viewBox=${`0 0 ${size.width} ${size.height}`} role="img" aria-label=${say('photos.arrow')}>
    <line class="edge" x1=${x1} y1=${y1} x2=${x2} y2=${y2} stroke-width=${breadth * 1.9} />
    <polygon class="edge" points=${head} stroke-width=${breadth * 0.9} />
    <line class="body" x1=${x1} y1=${y1} x2=${x2} y2=${y2} stroke-width=${breadth} />
    <polygon class="body" points=${head} />
  </svg>`;
}

/**
 * The arrow of a photo and what changes it; each change is saved, and can be undone.
 *
 * @param {Site} site @param {RecordView<'photo'>} photo @param {Size} size of the picture [px]
 */
export function useArrow(site, photo, size) {
  const shown = arrowOf(photo);
  const [drawing, setDrawing] = useState(false);
  const [told, setTold] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {Arrow | null} next */
  const save = (next) => {
    setError(null);
    const seen = photo.seen.mark ?? null;
    site
      .save([{ record: photo.id, type: 'photo', facet: 'mark', value: next ?? {}, seen }])
      .then(() => setTold((before) => before + 1), setError);
  };
  /** @param {string} key @returns {boolean} whether it moved the arrow */
  const key = (key) => {
    if (!drawing || !shown || !STEPS[key]) return false;
    save(arrowNudged(shown, STEPS[key], size));
    return true;
  };
  return {
    shown,
    drawing,
    told,
    error,
    key,
    point: (/** @type {import('./geometry.js').Point} */ tip) => save(arrowTo(tip, size)),
    nudge: (/** @type {string} */ name) => key(name),
    turn: () => shown && save(turned(shown, size)),
    away: () => save(null),
    begin: () => {
      setDrawing(true);
      // Who cannot tap has an arrow in the middle, and moves it.
      if (!shown) save(arrowTo({ x: 5000, y: 5000 }, size));
    },
    end: () => setDrawing(false),
  };
}

/** @param {{site: Site, arrow: ReturnType<typeof useArrow>}} props */
export function ArrowTools({ site, arrow }) {
  if (!arrow.drawing)
    return html`<button type="button" class="button wide" onClick=${arrow.begin}>${say(arrow.shown ? 'photos.change-arrow' : 'photos.draw-arrow')}</button>`;
  return html`<section class="stack" aria-label=${say('photos.arrow')}>
    <p>${say('photos.tap-for-arrow')}</p>
    <${Nudges} onNudge=${arrow.nudge} disabled=${!arrow.shown} />
    <div class="side-by-side">
      <button type="button" class="button" disabled=${!arrow.shown} onClick=${arrow.turn}>${say('photos.turn')}</button>
      <button type="button" class="button" disabled=${!arrow.shown} onClick=${arrow.away}>${say('photos.arrow-away')}</button>
      <button type="button" class="button main" onClick=${arrow.end}>${say('photos.arrow-done')}</button>
    </div>
    ${arrow.told > 0 && html`<${Saved} site=${site} key=${arrow.told} />`}
    <${Problem} error=${arrow.error} />
  </section>`;
}

/** Four buttons that move something a little; the arrow keys do the same. @param {{onNudge: (key: string) => void, disabled?: boolean}} props */
export function Nudges({ onNudge, disabled = false }) {
  return html`<div class="side-by-side nudges" role="group" aria-label=${say('photos.move-a-little')}>
    ${Object.keys(STEPS).map((key) => html`<button type="button" key=${key} class="button" disabled=${disabled} aria-label=${say(`photos.${key}`)} onClick=${() => onNudge(key)}>${SIGNS[key]}</button>`)}
  </div>`;
}

/** @type {Record<string, string>} */
const SIGNS = { ArrowLeft: '←', ArrowUp: '↑', ArrowDown: '↓', ArrowRight: '→' };
