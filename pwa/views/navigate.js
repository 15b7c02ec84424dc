// Going to another screen.

import { find, forget, leave } from './scroll_position.js';

if (typeof history !== 'undefined') history.scrollRestoration = 'manual';
/** Where the page is: the browser's own way back has moved the address before anybody hears of it. */
let moves = 0;
let at = typeof location === 'undefined' ? '' : location.pathname;

/**
 * Go to an address of the page.
 *
 * @param {string} path @param {{replace?: boolean, back?: boolean}} [how] `back`: to the list that one came from, where one was in it
 */
export function navigate(path, { replace = false, back = false } = {}) {
  if (!replace) leave(at, path);
  if (replace) history.replaceState(null, '', path);
  else history.pushState(null, '', path);
  at = location.pathname;
  moves += 1;
  dispatchEvent(new PopStateEvent('popstate'));
  if (back) find(at);
  else if (!replace) forget();
}

/** Whether one has gone from screen to screen since the page was loaded. */
export const hasMoved = () => moves > 0;

/** The browser's own way back or forward. @param {PopStateEvent} event */
function moved(event) {
  if (!event.isTrusted || at === location.pathname) return;
  leave(at, location.pathname);
  at = location.pathname;
  moves += 1;
  find(at);
}

/** The page was loaded again, or come back to; not opened by its address. */
function cameAgain() {
  const [entry] = /** @type {PerformanceNavigationTiming[]} */ (performance.getEntriesByType('navigation'));
  return entry !== undefined && entry.type !== 'navigate';
}

if (typeof addEventListener !== 'undefined') {
  addEventListener('popstate', moved);
  addEventListener('pageshow', () => cameAgain() && find(at));
  addEventListener('pagehide', () => leave(at, ''));
}
