// Long work in slices: between two of them the page answers a finger.

/** So long it goes on before it lets others: a fifth of what a finger waits without noticing, on a phone four times slower. */
const SLICE_MS = 6;

/** In a tab that nobody looks at no frame is drawn: there it is not waited for longer. */
const UNSEEN_MS = 200;

/** What waits longest goes first; the page draws between. @returns {Promise<void>} */
const pause = () => new Promise((done) => setTimeout(done));

/**
 * Run a generator to its end, a few milliseconds at a time.
 *
 * @template T
 * @param {Generator<void, T>} steps @param {() => boolean} [wanted] asked before each slice
 * @returns {Promise<T | undefined>} undefined where it was wanted no more
 */
export async function gently(steps, wanted = () => true) {
  for (;;) {
    await pause();
    if (!wanted()) return undefined;
    const until = performance.now() + SLICE_MS;
    do {
      const { done, value } = steps.next();
      if (done) return /** @type {T} */ (value);
    } while (performance.now() < until);
  }
}

/** To be awaited within long work: lets others where it has gone on for a slice. @returns {() => Promise<void>} */
export function breather() {
  let until = 0;
  return async () => {
    if (performance.now() < until) return;
    await pause();
    until = performance.now() + SLICE_MS;
  };
}

/** After a read it rests so many times as long as that took. */
const RESTS = 5;

/**
 * A read that is not made anew for each change: one at a time, then a rest that is as long as the read was dear. Who asks meanwhile
 * gets the next, which has all that changed until it begins.
 *
 * @template T @param {() => Promise<T>} read @returns {() => Promise<T>}
 */
export function rarely(read) {
  let rested = Promise.resolve();
  /** @type {Promise<T> | null} */
  let next = null;
  const begin = () => {
    next = null;
    const began = performance.now();
    const told = read();
    const rest = () => new Promise((done) => setTimeout(done, RESTS * (performance.now() - began)));
    rested = told.then(rest, rest).then(() => {});
    return told;
  };
  return () => {
    next ??= rested.then(begin);
    return next;
  };
}

/** Resolves when what is drawn now is on the screen. @returns {Promise<void>} */
export const frameShown = () =>
  new Promise((done) => {
    setTimeout(done, UNSEEN_MS);
    // A task that follows a frame runs when that was handed on.
    requestAnimationFrame(() => setTimeout(done));
  });
