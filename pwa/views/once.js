// A button that saves something new: a second tap saves nothing a second time.

/** Buttons whose last tap still saves. @type {WeakSet<EventTarget>} */
const acting = new WeakSet();

/**
 * What a button does, done once for two taps in a row, and once at a time. Forms need it not: see html.js.
 *
 * @param {() => unknown} act
 * @returns {(event: MouseEvent) => Promise<void>}
 */
export const once = (act) => async (event) => {
  const button = /** @type {EventTarget} */ (event.currentTarget);
  if (event.detail > 1 || acting.has(button)) return;
  acting.add(button);
  try {
    await act();
  } finally {
    acting.delete(button);
  }
};
