// What a crew does next at a fixture, in reach of the thumb however long its card is: to the ticks, or to the next label.

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
 * @param {{site: Site, isDone: boolean, ticks: {current: HTMLElement | null}}} props `ticks`: what stands around the ticks and 'done'
 */
export function ActHere({ site, isDone, ticks }) {
  const inView = useInView(ticks);
  if (isDone) return html`<${ScanNext} site=${site} look="main" />`;
  if (inView) return null;
  const go = () => {
    ticks.current?.scrollIntoView({ block: 'start' });
    ticks.current?.focus({ preventScroll: true });
  };
  return html`<button type="button" class="button wide" onClick=${go}>${say('card.to-the-ticks')} ↓</button>`;
}

/** @param {{site: Site, look: 'main' | 'wide'}} props */
export function ScanNext({ site, look }) {
  return html`<a class="button ${look}" href=${`/s/${site.id}/scan`}>${say('crew.scan-the-next-label')}</a>`;
}
