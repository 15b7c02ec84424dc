// The survey's screens by address.

import { h } from 'preact';

/** @type {Array<{path: string, screen: any}>} */
export const screens = [];

/** No screen has this address, or its site cannot be opened. @param {{path: string, why?: Error}} props */
export function NotFound({ path, why }) {
  return h('p', { role: 'alert' }, why ? why.message : path);
}
