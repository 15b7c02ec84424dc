// Floor plans: their pictures are fetched while there is a signal, and stay on the phone.

import { NoAnswer } from './transport.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('./transport.js').Transport} Transport */

const NOT_THERE = 404;

/**
 * Fetch the pictures of floor plans that are not here, and let those go whose plan was removed.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {() => void} [onPlan] after each
 * @returns {Promise<number>} how many came
 * @throws {NoAnswer} the server did not answer; what came before stays
 */
export async function fetchPlans(storage, transport, onPlan = () => {}) {
  let came = 0;
  for (const sha256 of await storage.plansLacking()) {
    const bytes = await pictureOf(transport, sha256);
    if (bytes === null) continue;
    await storage.keepPlan(sha256, bytes);
    came += 1;
    onPlan();
  }
  await storage.dropOldPlans();
  return came;
}

/** Null where it is still on the phone that took it. @param {Transport} transport @param {string} sha256 */
async function pictureOf(transport, sha256) {
  try {
    return await transport.getPhoto(sha256);
  } catch (error) {
    if (error instanceof NoAnswer && error.status === NOT_THERE) return null;
    throw error;
  }
}
