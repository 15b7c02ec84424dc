// The place of a page's foot, which lies over the window: the page ends above it, however high it is.

import { useLayoutEffect, useRef } from 'preact/hooks';

/** What a foot may take of the window; a higher one stands at the end of the page, where it covers nothing. */
const MOST_OF_WINDOW = 1 / 2;

/** How high the last one was: most screens have one as high. */
let heightPx = 0;

/** For the element around the foot, which keeps the foot's height free for it. */
export function useFootPlace() {
  const ref = useRef(/** @type {HTMLElement | null} */ (null));
  useLayoutEffect(() => {
    const place = /** @type {HTMLElement} */ (ref.current);
    const foot = /** @type {HTMLElement} */ (place.firstElementChild);
    const keep = () => {
      place.style.minHeight = `${heightPx}px`;
      place.classList.toggle('at-end', heightPx > MOST_OF_WINDOW * document.documentElement.clientHeight);
    };
    const measure = () => {
      heightPx = foot.offsetHeight;
      keep();
    };
    keep();
    // It is heard before the page is painted: nothing is seen to move.
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
