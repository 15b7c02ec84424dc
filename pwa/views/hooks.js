// What is on the phone, in a screen: read again whenever it has changed.

import { useEffect, useRef, useState } from 'preact/hooks';
import { store } from '../store/store.js';
import { sameAnswer } from './same_answer.js';

/** Nobody looks at nothing, or at what was before, for longer than this while changes come in. */
const STARVED_MS = 1000;

/**
 * The newest value of something read from the phone; undefined until it was read once, the last one while it is read
 * again. Newest wins: an answer that came too late is not shown; one that says what is shown draws nothing anew. Only while
 * changes come faster than they are read, as in the first sync of a large site, what was read last is shown though there is
 * newer: else nothing would be until the last change. What fails is thrown at the next drawing.
 *
 * @template T
 * @param {() => Promise<T>} read
 * @param {unknown[]} deps as for useEffect: what `read` depends on besides what is stored
 * @returns {T | undefined}
 */
export function useLive(read, deps) {
  const [held, setHeld] = useState(/** @type {{value?: T, error?: unknown, told?: number}} */ ({}));
  const newest = useRef(0);
  const shownTurn = useRef(0);
  const waits = useRef(/** @type {number | null} */ (null));
  useEffect(() => {
    let isGone = false;
    const load = async () => {
      newest.current += 1;
      const turn = newest.current;
      waits.current ??= performance.now();
      const next = await read().then(
        (value) => ({ value, told: store.listeners.turn }),
        (error) => ({ error, told: store.listeners.turn }),
      );
      const isNewest = turn === newest.current;
      const isStarved = !isGone && turn > shownTurn.current && performance.now() - waits.current > STARVED_MS;
      if (!isNewest && !isStarved) return;
      shownTurn.current = turn;
      waits.current = isNewest ? null : performance.now();
      setHeld((shown) => (sameAnswer(shown, next) ? shown : next));
    };
    load();
    const stop = store.subscribe(load);
    return () => {
      isGone = true;
      newest.current += 1;
      waits.current = null;
      stop();
    };
  }, deps);
  if ('error' in held && held.error) throw held.error;
  return held.value;
}

/**
 * How many of the parts below are to be drawn: one more each time that what is drawn was shown. What stands out of sight
 * comes after what a hand waits for, and a tap in between is answered between two parts.
 *
 * @param {number} parts
 */
export function useInTurn(parts) {
  const [drawn, setDrawn] = useState(0);
  // An effect runs when the frame is on the screen.
  useEffect(() => {
    if (drawn < parts) setDrawn(drawn + 1);
  }, [drawn, parts]);
  return drawn;
}

/** Whether what is drawn here was shown once: see `useInTurn`. */
export const useShown = () => useInTurn(1) > 0;

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
