// Templates: text in them is always escaped.

import htm from 'htm';
import { h } from 'preact';

/** @type {(strings: TemplateStringsArray, ...values: any[]) => any} */
export const html = htm.bind(h);
