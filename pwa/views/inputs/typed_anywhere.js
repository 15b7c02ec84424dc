// A keyboard, or a tape that types like one: digits typed anywhere on the screen go into one field, Enter saves.

import { useLayoutEffect } from 'preact/hooks';

/**
 * The first digit takes the caret to the field, where it and all that follows is typed as by hand.
 *
 * @param {{current: HTMLInputElement | null}} field @param {boolean} anew a digit replaces what stands there
 * @param {() => void} onEnter Enter where nothing else would take it
 */
export function useTypedAnywhere(field, anew, onEnter) {
  // Before the screen is seen: what is typed at once is typed too.
  useLayoutEffect(() => {
    /** @param {KeyboardEvent} event */
    const press = (event) => {
      const target = /** @type {Element} */ (event.target);
      if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
      const typing = target.closest?.(
        'input:not([type=radio], [type=checkbox]), select, textarea, [contenteditable]',
      );
      const actsItself = target.closest?.('button, a, summary, label, input, select, textarea');
      // With the caret in the field already, a digit that begins anew replaces what stands there all the same.
      if (/^\d$/.test(event.key) && (!typing || (anew && typing === field.current))) {
        const end = field.current?.value.length ?? 0;
        field.current?.focus({ preventScroll: true });
        field.current?.setSelectionRange(anew ? 0 : end, end);
      }
      if (event.key === 'Enter' && !actsItself) {
        event.preventDefault();
        onEnter();
      }
    };
    addEventListener('keydown', press);
    return () => removeEventListener('keydown', press);
  });
}
