// Templates: text in them is always escaped.

import htm from 'htm';
import { h, render } from 'preact';

/** Forms whose last save still goes on. @type {WeakSet<EventTarget>} */
const saving = new WeakSet();

/**
 * A second tap on a form's button saves nothing a second time while the first still saves.
 *
 * @param {(event: SubmitEvent) => unknown} save @returns {(event: SubmitEvent) => unknown}
 */
const onceAtATime = (save) => async (event) => {
  const form = /** @type {HTMLFormElement} */ (event.currentTarget);
  if (saving.has(form)) return event.preventDefault();
  saving.add(form);
  try {
    await save(event);
  } finally {
    saving.delete(form);
  }
};

/** @param {Parameters<typeof h>[0]} type @param {Record<string, unknown> | null} props @param {unknown[]} children */
function made(type, props, ...children) {
  const own =
    type === 'form' && props?.onSubmit
      ? { ...props, onSubmit: onceAtATime(/** @type {() => unknown} */ (props.onSubmit)) }
      : props;
  return h(type, own, .../** @type {import('preact').ComponentChild[]} */ (children));
}

/** @type {(strings: TemplateStringsArray, ...values: unknown[]) => Child} */
export const html = htm.bind(made);

/** Draws something of its own beside the page's screens; null takes it away. @type {(drawn: Child, root: HTMLElement) => void} */
export const draw = (drawn, root) => render(/** @type {import('preact').ComponentChild} */ (drawn), root);
