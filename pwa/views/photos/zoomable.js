// A picture that can be made larger: by two fingers, by buttons, by + and − and 0; it is moved by scrolling.

import { useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';
import { nextZoom, pinched, pointIn, scrollAfter } from './geometry.js';

/** @typedef {import('./geometry.js').Point} Point */

/**
 * @param {object} props
 * @param {string} props.label what it shows
 * @param {number} props.ratio width of the picture for each of its height
 * @param {(point: Point) => void} [props.onPoint] the picture was tapped
 * @param {(key: string) => boolean} [props.onKey] a key, before it zooms or scrolls; true: it was for something else
 * @param {Child} [props.children] fills the picture's place
 */
export function Zoomable({ label, ratio, onPoint, onKey, children }) {
  const view = useRef(/** @type {HTMLElement | null} */ (null));
  const { zoom, zoomTo } = useZoom(view);
  /** @param {KeyboardEvent} event */
  const press = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (onKey?.(event.key)) return event.preventDefault();
    if (event.key === '+' || event.key === '=') zoomTo(nextZoom(zoom, 1));
    else if (event.key === '-') zoomTo(nextZoom(zoom, -1));
    else if (event.key === '0') zoomTo(1);
    else return;
    event.preventDefault();
  };
  /** @param {EventOf<HTMLElement> & MouseEvent} event */
  const tap = (event) =>
    onPoint?.(pointIn(event.currentTarget.getBoundingClientRect(), event.clientX, event.clientY));
  return html`<div class="zoomable">
    <div class="zoom-view" role="region" aria-label=${label} tabindex="0" ref=${view} onKeyDown=${press}>
      <div class="zoom-picture ${onPoint ? 'is-tapped' : ''}" style=${{ '--zoom': String(zoom), '--ratio': String(ratio) }} onClick=${tap}>${children}</div>
    </div>
    <div class="zoom-buttons" role="group" aria-label=${say('photos.size')}>
      <button type="button" class="button" aria-label=${say('photos.smaller')} disabled=${zoom <= 1} onClick=${() => zoomTo(nextZoom(zoom, -1))}>−</button>
      <button type="button" class="button" disabled=${zoom <= 1} onClick=${() => zoomTo(1)}>${say('photos.whole')}</button>
      <button type="button" class="button" aria-label=${say('photos.larger')} disabled=${zoom >= 8} onClick=${() => zoomTo(nextZoom(zoom, 1))}>+</button>
    </div>
  </div>`;
}

/** @param {{left: number, top: number, width: number, height: number}} box */
const middleOf = ({ width, height }) => ({ x: width / 2, y: height / 2 });

/**
 * How large the picture is, and what changes it; what lies under the fingers stays there.
 *
 * @param {{current: HTMLElement | null}} view
 */
function useZoom(view) {
  const [zoom, setZoom] = useState(1);
  const kept = useRef(
    /** @type {{zoom: number, x: number, y: number, left: number, top: number} | null} */ (null),
  );
  const now = useRef(zoom);
  now.current = zoom;
  /** @param {number} next @param {{x: number, y: number}} [at] from the view's corner [px]; its middle */
  const zoomTo = (next, at) => {
    const box = /** @type {HTMLElement} */ (view.current);
    const { x, y } = at ?? middleOf(box.getBoundingClientRect());
    kept.current = { zoom: now.current, x, y, left: box.scrollLeft, top: box.scrollTop };
    setZoom(next);
  };
  useLayoutEffect(() => {
    const from = kept.current;
    const box = view.current;
    if (!from || !box) return;
    box.scrollLeft = scrollAfter(from.left, from.x, from.zoom, zoom);
    box.scrollTop = scrollAfter(from.top, from.y, from.zoom, zoom);
  }, [zoom]);
  useEffect(() => listenToFingers(/** @type {HTMLElement} */ (view.current), now, zoomTo), []);
  return { zoom, zoomTo };
}

/** @param {TouchList} touches */
const apart = ([one, other]) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);

/**
 * Two fingers on the picture, or the wheel with Ctrl, which a touch pad's two fingers are.
 *
 * @param {HTMLElement} box @param {{current: number}} zoom @param {(next: number, at: {x: number, y: number}) => void} zoomTo
 * @returns {() => void} stop
 */
function listenToFingers(box, zoom, zoomTo) {
  let begun = { apart: 0, zoom: 1 };
  /** @param {number} clientX @param {number} clientY */
  const inView = (clientX, clientY) => {
    const { left, top } = box.getBoundingClientRect();
    return { x: clientX - left, y: clientY - top };
  };
  const start = (/** @type {TouchEvent} */ event) => {
    if (event.touches.length === 2) begun = { apart: apart(event.touches), zoom: zoom.current };
  };
  const move = (/** @type {TouchEvent} */ event) => {
    if (event.touches.length !== 2) return;
    if (event.cancelable) event.preventDefault();
    const [one, other] = event.touches;
    const at = inView((one.clientX + other.clientX) / 2, (one.clientY + other.clientY) / 2);
    zoomTo(pinched(begun.zoom, begun.apart, apart(event.touches)), at);
  };
  const wheel = (/** @type {WheelEvent} */ event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    zoomTo(pinched(zoom.current, 100, 100 - event.deltaY), inView(event.clientX, event.clientY));
  };
  box.addEventListener('touchstart', start, { passive: true });
  box.addEventListener('touchmove', move, { passive: false });
  box.addEventListener('wheel', wheel, { passive: false });
  return () => {
    box.removeEventListener('touchstart', start);
    box.removeEventListener('touchmove', move);
    box.removeEventListener('wheel', wheel);
  };
}
