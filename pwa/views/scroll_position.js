// Where one was in a list: kept when one leaves it, found again by the way back.

const KEY = 'spanwalk:places';
const MOST = 40;
/** Longer than this a list does not take to come, on a slow phone that does much else; a hand is never waited against. */
const PATIENCE_MS = 15_000;

/** @typedef {{y: number, link: string | null}} Kept `link`: address of the row by which one left */

/** @returns {Record<string, Kept>} by address of the screen */
function read() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY) ?? '{}');
  } catch {
    return {};
  }
}

/** The row of a list that leads somewhere. @param {string} href */
const rowOf = (href) =>
  [...document.querySelectorAll('main a[href]')].find((link) => link.getAttribute('href') === href);

/** Leaving a screen for another. @param {string} from @param {string} to */
export function leave(from, to) {
  const { [from]: _, ...others } = read();
  const link = rowOf(to) ? to : null;
  const kept = Object.fromEntries([...Object.entries(others), [from, { y: scrollY, link }]].slice(-MOST));
  try {
    sessionStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // Without it the list begins at its top, as it did the first time.
  }
}

let turn = 0;

/** Back on a screen: scroll to where one was, as soon as the list is long enough, unless a hand is quicker. @param {string} at */
export function find(at) {
  turn += 1;
  const mine = turn;
  const kept = read()[at];
  if (!kept) return;
  const end = performance.now() + PATIENCE_MS;
  const stop = () => {
    turn += 1;
  };
  for (const hand of ['wheel', 'touchstart', 'keydown'])
    addEventListener(hand, stop, { once: true, passive: true });
  const look = () => {
    if (mine !== turn) return;
    const row = kept.link ? rowOf(kept.link) : null;
    const long = document.documentElement.scrollHeight - innerHeight >= kept.y;
    if ((!long || (kept.link && !row)) && performance.now() < end) return void requestAnimationFrame(look);
    scrollTo(0, kept.y);
    if (row instanceof HTMLElement) row.focus({ preventScroll: true });
  };
  requestAnimationFrame(look);
}

/** Another screen that begins at its top. */
export function forget() {
  turn += 1;
  scrollTo(0, 0);
}
