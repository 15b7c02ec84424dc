// What was last noted of a fixture, in the order in which the server took it. Twin: server/spanwalk/rules/installing/last_word.py.

import { facet, inOrder } from '../survey.js';

/** What a phone adds: its own unsent work comes after all that was sent. @typedef {{order?: Record<string, number>, seqs?: Record<string, number>, at?: Record<string, string>}} Placed */
/** @typedef {import('../survey.js').ViewRecord<'installation'> & Placed} Installation */

/** Place in the server's order of what made a record; what is not sent yet comes last, 0: not known. @param {Placed} record @returns {number} */
export const placeOf = (record) => record.order?.identity ?? record.seqs?.identity ?? 0;

/** The last word on one fixture. @param {Installation[]} installations @param {number} position @returns {Installation | undefined} */
export const lastWord = (installations, position) => lastWords(installations).get(position);

/** The last word on each fixture of a group. @param {Installation[]} installations @returns {Map<number, Installation>} */
export function lastWords(installations) {
  const ordered = [...installations].sort(
    (a, b) => placeOf(a) - placeOf(b) || inOrder(notedAt(a), notedAt(b)),
  );
  return new Map(ordered.map((each) => [facet(each, 'identity').position ?? 0, each]));
}

/** @param {Installation} installation @returns {string} */
const notedAt = (installation) =>
  String(facet(installation, 'identity').noted_at ?? installation.at?.identity ?? '');
