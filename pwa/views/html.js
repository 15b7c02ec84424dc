// Templates: text in them is always escaped.

import htm from 'htm';
import { h, render } from 'preact';

/** @type {(strings: TemplateStringsArray, ...values: unknown[]) => Child} */
export const html = htm.bind(h);

/** Draws something of its own beside the page's screens; null takes it away. @type {(drawn: Child, root: HTMLElement) => void} */
export const draw = (drawn, root) => render(/** @type {import('preact').ComponentChild} */ (drawn), root);
