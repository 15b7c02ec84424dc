// A list that stands beside what it leads to, where the window is wide; where one was in it is kept, for eye and keyboard.

import { useLayoutEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { useMedia, WIDE } from './bar.js';

/** How far each list is scrolled, by its name. @type {Map<string, number>} */
const scrolled = new Map();
/** The list in which a key chose last: the keyboard goes on from there. */
let byKey = '';

/** @typedef {{id: string, title: Child, detail?: Child, end?: Child, href?: string}} BesideRow */

/** Whether lists stand beside what they lead to. */
export const useBeside = () => useMedia(WIDE);

/**
 * On a narrower window there is none: the list has a screen of its own.
 *
 * @param {{name: string, label: string, rows: BesideRow[], here: string | undefined, onPick?: (id: string) => void}} props
 *   `name` tells lists apart; `here` is the row that is shown; `onPick` where a row is shown on this very screen
 */
export function Beside({ name, label, rows, here, onPick }) {
  const wide = useBeside();
  const box = useRef(/** @type {HTMLElement | null} */ (null));
  useLayoutEffect(() => {
    const list = box.current;
    if (!list) return;
    list.scrollTop = scrolled.get(name) ?? 0;
    const row = list.querySelector('[aria-current]');
    if (!(row instanceof HTMLElement)) return;
    const [top, end] = [row.offsetTop, row.offsetTop + row.offsetHeight];
    if (top < list.scrollTop || end > list.scrollTop + list.clientHeight)
      list.scrollTop = top - list.clientHeight / 2;
    if (byKey === name) row.focus({ preventScroll: true });
    byKey = '';
  }, [name, here, wide, rows.length > 1]);
  // Of one row there is nothing to choose.
  if (!wide || rows.length < 2) return null;
  const keep = () => scrolled.set(name, box.current?.scrollTop ?? 0);
  /** @param {MouseEvent} event */
  const press = (event) => {
    // A key's click has no count of presses.
    byKey = event.detail === 0 ? name : '';
  };
  return html`<nav class="strip" aria-label=${label} ref=${box} onScroll=${keep} onClick=${press} onKeyDown=${moveInList}>
    ${rows.map((row) => {
      const current = row.id === here;
      const inside = html`<span><span class="title">${row.title}</span>${row.detail && html`<span class="detail">${row.detail}</span>`}</span><span class="end muted small">${row.end}</span>`;
      return row.href
        ? html`<a key=${row.id} href=${row.href} aria-current=${current ? 'page' : null}>${inside}</a>`
        : html`<button type="button" key=${row.id} aria-current=${current ? 'true' : null} onClick=${() => onPick?.(row.id)}>${inside}</button>`;
    })}
  </nav>`;
}

/** @type {Record<string, (at: number, last: number) => number>} */
const STEPS = {
  ArrowDown: (at, last) => Math.min(at + 1, last),
  ArrowUp: (at) => Math.max(at - 1, 0),
  Home: () => 0,
  End: (_, last) => last,
};

/** Arrows go from row to row. @param {KeyboardEvent & {currentTarget: HTMLElement}} event */
export function moveInList(event) {
  const step = STEPS[event.key];
  if (!step || event.ctrlKey || event.metaKey || event.altKey) return;
  const rows = /** @type {HTMLElement[]} */ ([...event.currentTarget.querySelectorAll('a, button')]);
  const at = rows.indexOf(/** @type {HTMLElement} */ (document.activeElement));
  if (at < 0) return;
  event.preventDefault();
  rows[step(at, rows.length - 1)].focus();
}
