// What is half typed in a form: kept for who types through back, a closed app and a sign-out, until it is saved or let go.

import { store } from '../store/store.js';
import { keep, kept } from '../store/kept.js';

/** A name under which something half typed is kept for who types, and nobody else who signs in on this phone. @param {string} name */
export const ownName = (name) => `form.${store.person?.id ?? ''}.${name}`;

/** @param {string} site @param {string} form */
const nameOf = (site, form) => ownName(`${site}.${form}`);

/** @param {string} name */
const halfOf = (name) => `${name}.half-typed`;

/**
 * @template T what stands in the form
 * @typedef {{at: T | undefined, keep: (value: T) => void, forget: () => void, halfTyped: HalfTyped, keepHalfTyped: (texts: HalfTyped) => void}} KeptDraft `at`: what was kept when the form opened; `halfTyped`: what is no value yet, beside it
 */

/** By field: what stands there and cannot be read yet ('47 5/'), and why. @typedef {Record<string, {text: string, problem: import('./forms/field_checks.js').Problem}>} HalfTyped */

/** The draft of a form of a site. @template T @param {string} site @param {string} form its name, the same whenever it opens @returns {KeptDraft<T>} */
export function draftOf(site, form) {
  const name = nameOf(site, form);
  return {
    at: /** @type {T | undefined} */ (kept(name)),
    keep: (value) => keep(name, value),
    forget: () => {
      for (const each of [name, halfOf(name)]) keep(each, undefined);
    },
    halfTyped: /** @type {HalfTyped} */ (kept(halfOf(name)) ?? {}),
    keepHalfTyped: (texts) => keep(halfOf(name), Object.keys(texts).length > 0 ? texts : undefined),
  };
}
