// The server looks at few passwords at once. Who is not let in is told when to ask again; the page does that by itself.

const FULL = ['passwords-busy', 'proxy-429'];
const STATUSES = [429, 503];
const TRIES_MOST = 12;
const WAIT_LEAST_S = 1;
const WAIT_MOST_S = 10;
const SECOND_MS = 1000;

/** @type {Set<(waiting: boolean) => void>} */
const watching = new Set();
let waiting = 0;

/** Hear whether anything of this page waits for its turn. @param {(waiting: boolean) => void} hear @returns {() => void} ends it */
export function watchTurn(hear) {
  watching.add(hear);
  hear(waiting > 0);
  return () => watching.delete(hear);
}

/** @param {1 | -1} more */
function count(more) {
  waiting += more;
  for (const hear of watching) hear(waiting > 0);
}

/** @param {number} ms @returns {Promise<void>} */
const sleep = (ms) =>
  new Promise((resolve) => {
    setTimeout(resolve, ms);
  });

/**
 * Ask until it is one's turn: twelve times at most, each as long after the last as the server says and up to a second more,
 * so that those who were sent away together do not come back together.
 *
 * @param {() => Promise<Response>} ask
 * @param {{signal?: AbortSignal, pause?: (ms: number) => Promise<void>, random?: () => number}} [how]
 * @returns {Promise<Response>} the first answer that is another, or the last
 */
export async function inTurn(ask, { signal, pause = sleep, random = Math.random } = {}) {
  let answer = await ask();
  let wait = await waitOf(answer);
  if (wait === 0) return answer;
  count(1);
  try {
    for (let tries = 1; wait > 0 && tries < TRIES_MOST; tries += 1) {
      await pause((wait + random()) * SECOND_MS);
      signal?.throwIfAborted();
      answer = await ask();
      wait = await waitOf(answer);
    }
    return answer;
  } finally {
    count(-1);
  }
}

/** Seconds after which to ask again; 0: this is an answer. @param {Response} answer */
async function waitOf(answer) {
  if (!STATUSES.includes(answer.status)) return 0;
  const told = await answer
    .clone()
    .json()
    .catch(() => null);
  if (!FULL.includes(told?.code)) return 0;
  const said = Number(answer.headers.get('Retry-After')) || Number(told.seconds) || WAIT_LEAST_S;
  return Math.min(WAIT_MOST_S, Math.max(WAIT_LEAST_S, said));
}
