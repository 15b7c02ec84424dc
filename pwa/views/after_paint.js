// The finger first: what a tap asks for is drawn after the frame that shows the tap itself.
//
// A browser shows a button as pressed without us; drawing a screen before that holds it up. So
// drawings that a touch asks for wait for its frame. Whatever comes next (a key of a tape that types, Enter, a second
// tap) has them drawn before anybody hears of it: no form is ever sent with less than what was typed into it.

/** What asks for drawings that may wait. What is typed is drawn at once: a field that is drawn late would lose it. */
const ASKING = ['click', 'submit'];
/** What must find all drawn; of typing what comes before the letter, for after it a drawing would take it away. */
const FINDING = [...ASKING, 'pointerdown', 'mousedown', 'touchstart', 'keydown', 'beforeinput', 'paste'];
/** So long at most; a page that nobody sees gets no frames. */
const LATEST_MS = 100;

/**
 * @typedef {object} Clock
 * @property {(name: string, heard: () => void, how: {capture: true, passive: true}) => void} addEventListener
 * @property {(run: () => void) => unknown} requestAnimationFrame
 * @property {(run: () => void, ms?: number) => unknown} setTimeout
 * @property {(timer: unknown) => void} clearTimeout
 * @property {(run: () => void) => void} queueMicrotask
 */

/**
 * @param {Clock} clock
 * @returns {{drawLater: (draw: () => void) => void, afterPaint: (work: () => void) => void}}
 */
export function fingerFirst(clock) {
  /** A touch was heard whose frame is not out yet. */
  let touched = false;
  /** @type {(() => void)[]} */
  const waiting = [];
  const doAll = () => {
    try {
      for (let work = waiting.shift(); work; work = waiting.shift()) work();
    } finally {
      // What failed has thrown; the others are not lost with it.
      if (waiting.length > 0) clock.setTimeout(doAll);
    }
  };
  const touch = () => {
    if (touched) return;
    touched = true;
    let out = false;
    const shown = () => {
      if (out) return;
      out = true;
      clock.clearTimeout(late);
      touched = false;
      doAll();
    };
    const late = clock.setTimeout(shown, LATEST_MS);
    clock.requestAnimationFrame(() => clock.setTimeout(shown));
  };
  for (const name of FINDING) clock.addEventListener(name, doAll, { capture: true, passive: true });
  for (const name of ASKING) clock.addEventListener(name, touch, { capture: true, passive: true });
  return {
    drawLater: (draw) => (touched ? void waiting.push(draw) : clock.queueMicrotask(draw)),
    afterPaint: (work) => (touched ? void waiting.push(work) : work()),
  };
}

/** The page's own; without a page (in Node) nothing waits. */
const here = typeof document === 'undefined' ? null : fingerFirst(pageClock());

/** @returns {Clock} */
function pageClock() {
  return {
    addEventListener: (name, heard, how) => addEventListener(name, heard, how),
    requestAnimationFrame: (run) => requestAnimationFrame(run),
    setTimeout: (run, ms) => setTimeout(run, ms),
    clearTimeout: (timer) => clearTimeout(/** @type {number} */ (timer)),
    queueMicrotask: (run) => queueMicrotask(run),
  };
}

/** When the page's templates are drawn. @param {() => void} draw */
export const drawLater = (draw) => (here ? here.drawLater(draw) : queueMicrotask(draw));

/** Go on once the frame that shows a touch is out and what it asked for is drawn; at once without one. @param {() => void} work */
export const afterPaint = (work) => (here ? here.afterPaint(work) : work());
