// What only the server computes, asked for when a desk screen wants it; refusals carry the server's own sentence.

import { StoreError, store } from './store.js';
import { inTurn } from './turn.js';

const NO_CONTENT = 204;

/** @typedef {{method?: string, body?: unknown, signal?: AbortSignal}} How */

/**
 * Ask the server; where it wants to know once more who one is, the page asks for that, and then the server again.
 *
 * @template [T=unknown] what is answered
 * @param {string} path @param {How & {askAgain?: boolean}} [how]
 * @returns {Promise<T>} the answer's JSON
 * @throws {StoreError} no network, or the server's problem: `facts.detail` is its sentence
 */
export async function askServer(path, { askAgain = true, ...how } = {}) {
  try {
    return await askOnce(path, how);
  } catch (refused) {
    const wanted = askAgain && refused instanceof StoreError && refused.code === 'enter-again';
    if (!wanted || !(await store.enterAgain())) throw refused;
    return askOnce(path, how);
  }
}

/**
 * An answer that comes line by line, each a value of JSON, while the server works; given up, the server stops.
 *
 * @template T what a line tells
 * @param {string} path @param {How} how @param {(line: T) => void} onLine
 * @throws {StoreError} as of `askServer`; `desk.no-network` where it breaks off
 */
export async function linesOfServer(path, how, onLine) {
  const answer = await fetchOnce(path, how);
  if (!answer.ok || !answer.body) {
    const told = await answer.json().catch(() => null);
    throw new StoreError(told?.code ?? 'desk.no-answer', told ?? {});
  }
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = '';
  try {
    for (let some = await reader.read(); !some.done; some = await reader.read()) {
      const lines = (rest + some.value).split('\n');
      rest = lines.pop() ?? '';
      for (const line of lines) onLine(JSON.parse(line));
    }
  } catch (error) {
    if (how.signal?.aborted) throw error;
    throw new StoreError('desk.no-network', {});
  }
}

/**
 * @template [T=unknown]
 * @param {string} path @param {How} how
 * @returns {Promise<T>}
 */
async function askOnce(path, how) {
  const answer = await inTurn(() => fetchOnce(path, how), how);
  const told = answer.status === NO_CONTENT ? {} : await answer.json().catch(() => null);
  // A request that was given up while its answer came in has no answer, whatever its status said.
  how.signal?.throwIfAborted();
  if (!answer.ok || told === null) throw new StoreError(told?.code ?? 'desk.no-answer', told ?? {});
  return told;
}

/** @param {string} path @param {How} how @throws {StoreError} there is no network */
async function fetchOnce(path, { method = 'GET', body, signal }) {
  try {
    return await store.fetch(store.base + path, {
      method,
      signal,
      credentials: 'same-origin',
      cache: 'no-store',
      ...(body !== undefined && { body: sent(body) }),
      headers: { 'Accept-Language': store.language, ...(body !== undefined && typeOf(body)) },
    });
  } catch (error) {
    if (signal?.aborted) throw error;
    throw new StoreError('desk.no-network', {});
  }
}

/** A body as it is sent: a file as it is, all else as JSON. @param {unknown} body */
const sent = (body) => (body instanceof Blob ? body : JSON.stringify(body));

/** @param {unknown} body */
const typeOf = (body) => ({
  'Content-Type': body instanceof Blob ? 'application/octet-stream' : 'application/json',
});
