// What is read rarely lies folded on a phone, where all that follows would stand far below it; at a desk and on paper it stands open.

import { useEffect } from 'preact/hooks';
import { html } from '../html.js';
import { useMedia, WIDE } from '../parts/bar.js';

/** What of a page is folded so: a search in the page reaches it, and printing opens it; of those that close each other, what is open is printed. */
const FOLDS = 'details.fold:not([name])';

/** @param {{title: Child, children?: Child}} props */
export function Fold({ title, children }) {
  const wide = useMedia(WIDE);
  if (wide) return html`${children}`;
  return html`<details class="points fold"><summary>${title}</summary><div class="stack">${children}</div></details>`;
}

/** While the page is printed nothing is folded. */
export function usePrintedWhole() {
  useEffect(() => {
    /** @type {HTMLDetailsElement[]} */
    let opened = [];
    const turn = (/** @type {boolean} */ open) => {
      for (const each of opened) each.open = open;
    };
    const before = () => {
      opened = [...document.querySelectorAll(FOLDS)].flatMap((each) =>
        each instanceof HTMLDetailsElement && !each.open ? [each] : [],
      );
      turn(true);
    };
    const after = () => turn(false);
    window.addEventListener('beforeprint', before);
    window.addEventListener('afterprint', after);
    return () => {
      window.removeEventListener('beforeprint', before);
      window.removeEventListener('afterprint', after);
    };
  }, []);
}
