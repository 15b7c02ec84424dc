// From a code to the fixture it hangs on, by what is on the phone.

import { facet } from '../../rules/survey.js';
import { store } from '../../store/store.js';

/** The screen of a fixture. @param {string} site @param {string} group @param {number} position @param {string} [code] */
export const fixturePath = (site, group, position, code) =>
  `/s/${site}/fixture/${group}/${position}${code ? `?code=${encodeURIComponent(code)}` : ''}`;

/** The screen on which a person says which fixture a code is on. @param {string} site @param {string} code */
export const choosePath = (site, code) => `/s/${site}/choose?code=${encodeURIComponent(code)}`;

/**
 * @param {Site} site @param {string} code
 * @returns {Promise<string | null>} address of the fixture's screen; null: no fixture on this phone has it
 */
export async function fixtureOfCode(site, code) {
  const label = await site.lookup('label', code);
  const { group, position } = facet(label, 'binding');
  if (!group || position === undefined || label?.facets.voided?.reason) return null;
  return fixturePath(site.id, group, position, code);
}

/**
 * The same over all sites of who is signed in.
 *
 * @param {string} code @returns {Promise<string | null>}
 */
export async function findOnAnySite(code) {
  for (const { id } of store.sites()) {
    const found = await fixtureOfCode(await store.openSite(id), code);
    if (found) return found;
  }
  return null;
}
