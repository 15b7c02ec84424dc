// What wakes a sync: the network coming back, the page coming to the front. A save and the button call the engine themselves.

/** @typedef {import('./engine.js').Engine} Engine */

/**
 * @param {() => Iterable<Engine>} engines those that are open
 * @param {Window} page
 */
export function listen(engines, page) {
  const { document, navigator } = page;
  /** @param {import('./line.js').LineEvent} event */
  const tell = (event) => {
    for (const engine of engines())
      engine.tell(event, event === 'network-lost' ? { code: 'network-lost' } : {});
  };
  page.addEventListener('online', () => tell('network-back'));
  page.addEventListener('offline', () => tell('network-lost'));
  // Where the browser says what the network is, another network may be the one that photos wait for.
  /** @type {Navigator & {connection?: EventTarget}} */ (navigator).connection?.addEventListener?.(
    'change',
    () => navigator.onLine && tell('woken'),
  );
  page.addEventListener('pageshow', () => tell('woken'));
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible' && navigator.onLine) tell('woken');
  });
}
