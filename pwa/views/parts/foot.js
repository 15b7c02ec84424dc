// The foot of a page, which lies over the window: the page keeps its height free at its end, however high it is.

import { useLayoutEffect, useRef } from 'preact/hooks';

/** What a foot may take of the window; a higher one stands at the end of the page, where it covers nothing. */
const MOST_OF_WINDOW = 0.9;
/** The same where little is seen at once: a low window, or letters twice as large. */
const [MOST_OF_SMALL, LOW_PX, NARROW_EM] = [0.5, 600, 16];

/** How high the last one was: most screens have one as high. */
let lastPx = 0;

/** @param {number} px of a foot, how high it is @param {HTMLElement} root */
function isTooHigh(px, root) {
  const narrowPx = NARROW_EM * Number.parseFloat(getComputedStyle(root).fontSize);
  const isSmall = root.clientHeight < LOW_PX || root.clientWidth <= narrowPx;
  return px > (isSmall ? MOST_OF_SMALL : MOST_OF_WINDOW) * root.clientHeight;
}

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
    const root = document.documentElement;
    let windowPx = 0;
    const measure = () => {
      lastPx = foot.offsetHeight;
      const wasAtEnd = foot.hasAttribute('data-at-end');
      const isAtEnd = foot.toggleAttribute('data-at-end', isTooHigh(lastPx, root));
      keepFree(getComputedStyle(foot).position === 'fixed' ? lastPx : 0);
      // It asks something now, in a window as high as before: that is not left out of sight.
      if (isAtEnd && !wasAtEnd && windowPx === root.clientHeight) foot.scrollIntoView({ block: 'nearest' });
      windowPx = root.clientHeight;
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
