// Templates: text in them is always escaped.

import htm from 'htm';
import { h } from 'preact';

/** @type {(strings: TemplateStringsArray, ...values: unknown[]) => Child} */
export const html = htm.bind(h);
