// What a crew does next at a fixture, in reach of the thumb however long its card is: to the checks, or to the next label.

import { useEffect, useState } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';

/**
 * Whether something on the page is in view now.
 *
 * @param {{current: HTMLElement | null}} shown
 */
function useInView(shown) {
  const [inView, setInView] = useState(false);
  useEffect(() => {
    if (!shown.current) return undefined;
    const watch = new IntersectionObserver(([{ isIntersecting }]) => setInView(isIntersecting));
    watch.observe(shown.current);
    return () => watch.disconnect();
  }, []);
  return inView;
}

/**
 * @param {{site: Site, isDone: boolean, checks: {current: HTMLElement | null}}} props `checks`: what stands around the checks and 'done'
 */
export function ActHere({ site, isDone, checks }) {
  const inView = useInView(checks);
  if (isDone) return html`<${ScanNext} site=${site} look="main" />`;
  if (inView) return null;
  const go = () => {
    checks.current?.scrollIntoView({ block: 'start' });
    checks.current?.focus({ preventScroll: true });
  };
  return html`<button type="button" class="button wide" onClick=${go}>${say('card.to-the-ticks')} ↓</button>`;
}

/** @param {{site: Site, look: 'main' | 'wide'}} props */
export function ScanNext({ site, look }) {
  return html`<a class="button ${look}" href=${`/s/${site.id}/scan`}>${say('crew.scan-the-next-label')}</a>`;
}
