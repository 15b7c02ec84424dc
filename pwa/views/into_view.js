// What answers a tap stands where it is seen, above what lies over the page's foot, though it was drawn below it.

import { useLayoutEffect, useRef } from 'preact/hooks';

/**
 * For an element that comes to answer a tap: it is brought to the top when it is first drawn.
 *
 * @param {boolean} [wanted] whether it does so
 */
export function useIntoView(wanted = true) {
  const ref = useRef(/** @type {HTMLElement | null} */ (null));
  useLayoutEffect(() => {
    if (wanted) ref.current?.scrollIntoView({ block: 'start' });
  }, []);
  return ref;
}
