// The reader of codes, a worker beside the page: made while a crew looks at something else, so that a tap on 'Scan'
// waits for the camera alone. It is as much work as at the tap, done earlier; while nobody sees the page there is none.

/** By its address: a worker knows no import map, and stands alone where the page is packed. */
const SCAN_WORKER = '/app/views/scanning/scan_worker.js';
/** Where a browser does not say when it has nothing to do. */
const SOON_MS = 500;
/** So long at most until it is made, however busy the page is. */
const LATEST_MS = 3000;

/**
 * @template T
 * @typedef {object} Around what a keeper knows of the page
 * @property {() => T} make
 * @property {(reader: T) => void} end
 * @property {(run: () => void) => void} whenIdle
 * @property {() => boolean} isSeen whether somebody sees the page
 */

/**
 * One reader kept ready.
 *
 * @template T
 * @param {Around<T>} around
 */
export function keeper({ make, end, whenIdle, isSeen }) {
  /** @type {T | null} */
  let ready = null;
  let near = false;
  let waiting = false;
  const makeSoon = () => {
    if (!near || waiting || ready || !isSeen()) return;
    waiting = true;
    whenIdle(() => {
      waiting = false;
      if (near && isSeen()) ready ??= make();
    });
  };
  return {
    /** A tap on 'Scan' is near. */
    soon() {
      near = true;
      makeSoon();
    },
    /** The one that is ready, or a new one; whoever takes it ends it. @returns {T} */
    take() {
      const taken = ready ?? make();
      ready = null;
      near = false;
      return taken;
    },
    /** The page was put away, or is seen again. */
    seenOrNot() {
      if (isSeen()) return makeSoon();
      if (ready) end(ready);
      ready = null;
    },
  };
}

const kept = keeper({
  make() {
    // Asked which cameras there are, the browser starts what opens one; none is opened, and nobody is asked.
    navigator.mediaDevices?.enumerateDevices?.().catch(() => {});
    return new Worker(SCAN_WORKER, { type: 'module' });
  },
  end: (worker) => worker.terminate(),
  whenIdle: (run) =>
    typeof requestIdleCallback === 'function'
      ? requestIdleCallback(run, { timeout: LATEST_MS })
      : setTimeout(run, SOON_MS),
  isSeen: () => document.visibilityState === 'visible',
});
if (typeof document !== 'undefined') document.addEventListener('visibilitychange', kept.seenOrNot);

export const readySoon = kept.soon;
export const takeReader = kept.take;
