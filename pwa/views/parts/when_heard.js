// What this browser has heard of the server: whether anything yet, and whether something since a screen was opened.

import { useEffect, useRef, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { say } from '../words.js';

/**
 * Whether what the server has of a site is known here: a sync has ended well on this browser. Before that an empty form or
 * list would say that nothing is there.
 *
 * @param {Site} site
 */
export function useHeard(site) {
  const [heard, setHeard] = useState(site.engine.heard);
  useEffect(() => {
    const look = () => setHeard(site.engine.heard);
    look();
    return store.subscribe(look);
  }, [site.id]);
  return heard;
}

/**
 * Something read from this browser, with whether the server was heard before it was read: what heard alone would say while what
 * was read is older is that nothing is there.
 *
 * @template T @param {Site} site @param {() => Promise<T>} read @param {unknown[]} deps as of `useLive`
 * @returns {{heard: boolean, read: T} | undefined}
 */
export const useReadAndHeard = (site, read, deps) =>
  useLive(async () => {
    const { heard } = site.engine;
    return { heard, read: await read() };
  }, deps);

/** What a page says before that. @param {{site: Site}} props */
export const NotHeard = ({ site }) =>
  !useHeard(site) && html`<p class="notice" role="status">${say('desk.not-heard-yet')}</p>`;

/** How often this browser has sent the last of what it had of a site since the screen was opened: what the server tells is older before. @param {Site} site */
export function useTimesSent(site) {
  const [times, setTimes] = useState(0);
  useEffect(() => {
    let waited = site.engine.status.unsent > 0;
    return store.watchLine(() => {
      const waits = site.engine.status.unsent > 0;
      if (waited && !waits) setTimes((before) => before + 1);
      waited = waits;
    });
  }, [site.id]);
  return times;
}

/** @typedef {{turn: number | null, times: number}} Followed `turn`: of what is written here, when it was last asked for; null before anything was heard */

/**
 * What the server computes of a site is asked for again once: when a sync is over, all that was saved here is sent, and
 * something is written here that was not when it was last asked for.
 *
 * @param {Followed} before
 * @param {{heard: boolean, isAtRest: boolean, turn: number}} now `turn`: of what is written here
 * @returns {Followed} the same where nothing is to be asked
 */
export function followed(before, { heard, isAtRest, turn }) {
  if (!heard || !isAtRest || turn === before.turn) return before;
  // What the first sync brings the server knew when it was asked.
  return { turn, times: before.turn === null ? before.times : before.times + 1 };
}

/** How often what the server computes of a site is to be asked for again. @param {Site} site */
export function useFollowed(site) {
  const [times, setTimes] = useState(0);
  const held = useRef(
    /** @type {Followed} */ ({ turn: site.engine.heard ? site.reads.turn : null, times: 0 }),
  );
  useEffect(() => {
    const look = () => {
      const { heard, state, unsent } = site.engine.status;
      const isAtRest = state !== 'sending' && unsent === 0;
      held.current = followed(held.current, { heard, isAtRest, turn: site.reads.turn });
      setTimes(held.current.times);
    };
    look();
    return store.subscribe(look);
  }, [site.id]);
  return times;
}
