// A signature that is being given: name and strokes are kept until it is saved, through a phone that is switched off too.
//
// What was shown when the first stroke was drawn is kept with them: a signature is never put to anything else.

import { useRef, useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { strokesOf } from './strokes.js';

/** @typedef {import('./strokes.js').Stroke} Stroke */
/** `seen`: what was shown at the first stroke, by its hash @typedef {{name: string, strokes: Stroke[], seen: string}} Half */

/** What was kept of a signature; before there were strokes it was the name alone. @param {unknown} kept @param {string} name @returns {Half} */
export function halfOf(kept, name) {
  if (typeof kept === 'string') return { name: kept, strokes: [], seen: '' };
  const at = /** @type {Partial<Half>} */ (kept && typeof kept === 'object' ? kept : {});
  const strokes = strokesOf(at.strokes);
  return {
    name: typeof at.name === 'string' ? at.name : name,
    strokes,
    seen: typeof at.seen === 'string' ? at.seen : '',
  };
}

/**
 * @param {Site} site
 * @param {string} form its name among drafts
 * @param {() => Promise<string>} content hash of what is shown now
 * @param {string} [name] of who signs, where it is known
 */
export function useSigning(site, form, content, name = '') {
  const draft = draftOf(site.id, form);
  const half = useRef(/** @type {Half | null} */ (null));
  half.current ??= halfOf(draft.at, name);
  const at = half.current;
  const [, drawAgain] = useState(0);
  const [wasKept] = useState(at.strokes.length > 0);
  const [canvas, setCanvas] = useState(/** @type {HTMLCanvasElement | null} */ (null));
  const change = (/** @type {Partial<Half>} */ some) => {
    Object.assign(at, some);
    draft.keep({ ...at });
    drawAgain((times) => times + 1);
  };
  return {
    name: at.name,
    strokes: at.strokes,
    wasKept: wasKept && at.strokes.length > 0,
    drawn: at.strokes.length > 0 ? canvas : null,
    setName: (/** @type {string} */ typed) => change({ name: typed }),
    /** @param {HTMLCanvasElement} pad @param {Stroke[]} strokes */
    onStrokes: async (pad, strokes) => {
      const first = at.strokes.length === 0;
      setCanvas(pad);
      change(strokes.length === 0 ? { strokes, seen: '' } : { strokes });
      if (first && strokes.length > 0) change({ seen: await content() });
    },
    onReady: setCanvas,
    /** Whether what is shown is another than what the first stroke was put to; asked again, it is what was seen since. */
    hasChanged: async () => {
      const now = await content();
      const changed = at.strokes.length > 0 && at.seen !== now;
      if (changed) change({ seen: now });
      return changed;
    },
    forget: draft.forget,
  };
}
