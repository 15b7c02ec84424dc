// What is half typed in a form: kept for who types through back, a closed app and a sign-out, until it is saved or let go.

import { store } from '../store/store.js';
import { keep, kept } from './syncing/kept.js';

/** @param {string} site @param {string} form */
const nameOf = (site, form) => `form.${store.person?.id ?? ''}.${site}.${form}`;

/**
 * @template T what stands in the form
 * @typedef {{at: T | undefined, keep: (value: T) => void, forget: () => void}} KeptDraft `at`: what was kept when the form opened
 */

/** The draft of a form of a site. @template T @param {string} site @param {string} form its name, the same whenever it opens @returns {KeptDraft<T>} */
export function draftOf(site, form) {
  const name = nameOf(site, form);
  return {
    at: /** @type {T | undefined} */ (kept(name)),
    keep: (value) => keep(name, value),
    forget: () => keep(name, undefined),
  };
}
