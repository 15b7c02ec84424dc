// One sync of one site: operations out, state in, photos out.

import { isNoRoom } from '../storage/connection.js';
import { askOfHeld } from './held.js';
import { makeRoom, sendPhotos } from './photos.js';
import { fetchPlans } from './plans.js';
import { pullAll } from './pull.js';
import { pushAll } from './push.js';
import { NoAnswer } from './transport.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('./transport.js').Transport} Transport */

const SET_BACK = 'incarnation-changed';
/** This phone is shut out of the site: it reads nothing, and hands in what it has. */
export const SHUT_OUT = 'device-revoked';

/**
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {{onChange?: () => void, photosToo?: () => boolean}} [how] `onChange`: something on the phone has changed
 * @returns {Promise<{matches: boolean}>}
 * @throws {import('./transport.js').NoAnswer} the sync stopped there; what was answered so far is kept
 */
export async function cycle(storage, transport, how = {}) {
  const { onChange = () => {}, photosToo = () => true } = how;
  for (;;) {
    try {
      return await ofOneServer(storage, transport, onChange, photosToo);
    } catch (error) {
      if (!isNoRoom(error) || !(await madeRoom(storage, transport, onChange, photosToo()))) throw error;
    }
  }
}

/** Photos wait behind records, and on a full phone no record gets past them: they go first there. @param {SiteStorage} storage @param {Transport} transport @param {() => void} onChange @param {boolean} photosToo @returns {Promise<boolean>} */
async function madeRoom(storage, transport, onChange, photosToo) {
  try {
    return await makeRoom(storage, transport, onChange, photosToo);
  } catch (error) {
    // That the phone is full stays what is in the way, but where a person has to sign in first.
    if (error instanceof NoAnswer ? error.event === 'session-ended' : !isNoRoom(error)) throw error;
    return false;
  }
}

/** @param {SiteStorage} storage @param {Transport} transport @param {() => void} onChange @param {() => boolean} photosToo */
async function ofOneServer(storage, transport, onChange, photosToo) {
  try {
    return await records(storage, transport, onChange, photosToo);
  } catch (error) {
    const { code, facts } = /** @type {{code?: string, facts?: Facts}} */ (error);
    if (code !== SET_BACK) throw error;
    await storage.serverWasSetBack(/** @type {string} */ (facts?.incarnation));
    return records(storage, transport, onChange, photosToo);
  }
}

/** @param {SiteStorage} storage @param {Transport} transport @param {() => void} onChange @param {() => boolean} photosToo */
async function records(storage, transport, onChange, photosToo) {
  await storage.bringUp();
  await sendAll(storage, transport, onChange);
  let checked = await pullAll(storage, transport, onChange).catch(async (error) => {
    if (error.code === SHUT_OUT && photosToo()) await sendPhotos(storage, transport, onChange);
    throw error;
  });
  if ((await storage.retryArrived()) > 0) {
    await sendAll(storage, transport, onChange);
    checked = await pullAll(storage, transport, onChange);
  }
  // Who may pull is on the site (again): what was made while they were not may have been let in.
  if ((await askOfHeld(storage, transport)) > 0) {
    onChange();
    checked = await pullAll(storage, transport, onChange);
  }
  const sent = photosToo() ? await sendPhotos(storage, transport, onChange) : 0;
  // The pull says how much is still only here: now it is less.
  if (sent > 0) checked = await pullAll(storage, transport, onChange);
  if (photosToo()) await fetchPlans(storage, transport, onChange);
  await storage.noteSync({ at: storage.now() });
  return checked;
}

/** However it ends: what was answered is taken in. @param {SiteStorage} storage @param {Transport} transport @param {() => void} onChange */
async function sendAll(storage, transport, onChange) {
  try {
    await pushAll(storage, transport, onChange);
  } finally {
    if (await storage.takeAnswersIn()) onChange();
  }
}
