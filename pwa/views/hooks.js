// What is on the phone, in a screen: read again whenever it has changed.

import { useEffect, useRef, useState } from 'preact/hooks';
import { store } from '../store/store.js';
import { sameAnswer } from './same_answer.js';

/**
 * The newest value of something read from the phone; undefined until it was read once, the last one while it is read
 * again. Newest wins: an answer that came too late is not shown; one that says what is shown draws nothing anew. What
 * fails is thrown at the next drawing.
 *
 * @template T
 * @param {() => Promise<T>} read
 * @param {unknown[]} deps as for useEffect: what `read` depends on besides what is stored
 * @returns {T | undefined}
 */
export function useLive(read, deps) {
  const [held, setHeld] = useState(/** @type {{value?: T, error?: unknown, told?: number}} */ ({}));
  const newest = useRef(0);
  useEffect(() => {
    const load = async () => {
      newest.current += 1;
      const turn = newest.current;
      const next = await read().then(
        (value) => ({ value, told: store.turn }),
        (error) => ({ error, told: store.turn }),
      );
      if (turn === newest.current) setHeld((shown) => (sameAnswer(shown, next) ? shown : next));
    };
    load();
    const stop = store.subscribe(load);
    return () => {
      newest.current += 1;
      stop();
    };
  }, deps);
  if ('error' in held && held.error) throw held.error;
  return held.value;
}

/** The sync line, kept up to date. */
export function useStatus() {
  const [status, setStatus] = useState(store.status);
  useEffect(() => {
    const read = () => setStatus(store.status);
    // It may have moved between the drawing and now, and 'all sent' must never be a moment too old.
    read();
    return store.watchLine(read);
  }, []);
  return status;
}
