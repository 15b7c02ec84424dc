// The foot of a page, which lies over the window: the page keeps its height free at its end, however high it is.

import { useLayoutEffect, useRef } from 'preact/hooks';

/** What a foot may take of the window; a higher one stands at the end of the page, where it covers nothing. */
const MOST_OF_WINDOW = 1 / 2;

/** How high the last one was: most screens have one as high. */
let lastPx = 0;

/** For the foot, a child of its page. */
export function useFoot() {
  const ref = useRef(/** @type {HTMLElement | null} */ (null));
  useLayoutEffect(() => {
    const foot = /** @type {HTMLElement} */ (ref.current);
    const page = /** @type {HTMLElement} */ (foot.parentElement);
    // The page's own: a box that stood for the foot would be seen to move by who measures what moves.
    const keepFree = (/** @type {number} */ px) => {
      page.style.setProperty('--foot', `${px}px`);
    };
    const measure = () => {
      lastPx = foot.offsetHeight;
      foot.toggleAttribute('data-at-end', lastPx > MOST_OF_WINDOW * document.documentElement.clientHeight);
      keepFree(getComputedStyle(foot).position === 'fixed' ? lastPx : 0);
    };
    keepFree(lastPx);
    // Heard before the page is painted: nothing is seen to move.
    const observer = new ResizeObserver(measure);
    observer.observe(foot);
    addEventListener('resize', measure);
    return () => {
      observer.disconnect();
      removeEventListener('resize', measure);
    };
  }, []);
  return ref;
}
