// The server's state in, page by page, until the copy is checked against the server's sum.

import { takeNewName } from './push.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('../storage/types.js').Page} Page */
/** @typedef {import('../storage/types.js').SyncState} SyncState */
/** @typedef {import('./transport.js').Transport} Transport */

const PAGE = 1000;
const NAME_TAKEN = 'device-of-another';
const PULL_ALL = new Set(['scope-changed', 'cursor-ahead']);

/**
 * Pull until nothing newer is there.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {() => void} [onPage] after each page was taken in
 * @returns {Promise<{matches: boolean}>} whether the copy has the sum that the server told
 */
export async function pullAll(storage, transport, onPage = () => {}) {
  let tried = false;
  // What comes is laid over what this phone was answered.
  await storage.takeAnswersIn();
  for (;;) {
    const anew = (await storage.syncState()).full !== null;
    const page = await pullPages(storage, transport, onPage);
    if (page === null || (await storage.syncState()).full !== null) continue;
    const matches = await check(storage, page);
    if (matches || tried || anew) return { matches };
    tried = true;
    await storage.needAll('digest-differs');
  }
}

/**
 * Take pages in until the last one; the next is on its way while one is being stored.
 *
 * @param {SiteStorage} storage @param {Transport} transport @param {() => void} onPage
 * @returns {Promise<Page | null>} the last page; null when everything is to be pulled again
 */
async function pullPages(storage, transport, onPage) {
  const [sync, phone, counts] = await Promise.all([storage.syncState(), storage.phone(), storage.counts()]);
  const anew = sync.full !== null;
  let asked = firstQuestion(sync, phone, counts);
  let coming = ask(storage, transport, asked);
  for (;;) {
    const page = await coming;
    if (page === null) return null;
    asked = nextQuestion(asked, page);
    if (page.more) {
      coming = ask(storage, transport, asked);
      // Heard of when it is awaited; until then a failure there is nobody's.
      coming.catch(() => {});
    }
    if (anew) await storage.pulledAnew(page);
    else if ((await storage.pulled(page)).missing) return null;
    if (page.records.length > 0) onPage();
    if (!page.more) return page;
  }
}

/** @typedef {Record<string, string | number | null>} Question */

/**
 * @param {SyncState} sync @param {import('../storage/types.js').Phone} phone
 * @param {{operations: number, photos: number}} counts
 * @returns {Question}
 */
function firstQuestion(sync, phone, counts) {
  const anew = sync.full !== null;
  const since = anew ? sync.fullCursor : sync.cursor;
  const fromNothing = anew || since === 0 || sync.firstHead > 0;
  return {
    since,
    limit: PAGE,
    // A phone that starts from nothing knows none of its own values either.
    device: fromNothing ? null : phone.device,
    // Even where all comes anew: it is by this that a server which was set back is found out, and gets back what it had answered.
    incarnation: sync.incarnation,
    scope: anew && since === 0 ? null : sync.scope,
    first_head: sync.firstHead || null,
    unsent: counts.operations,
    unsent_photos: counts.photos,
  };
}

/** What a phone asks that has nothing of the site, as `firstQuestion` has it then. @type {Question} */
export const OF_NOTHING = { since: 0, limit: PAGE, unsent: 0, unsent_photos: 0 };

/** @param {Question} asked @param {Page} page @returns {Question} */
function nextQuestion(asked, page) {
  const { incarnation, scope, next } = page;
  const first_head = asked.since === 0 ? page.head : asked.first_head;
  return { ...asked, since: next, incarnation, scope, first_head };
}

/** @param {SiteStorage} storage @param {Transport} transport @param {Question} question @returns {Promise<Page | null>} */
async function ask(storage, transport, question) {
  try {
    return await transport.pull(question);
  } catch (error) {
    const { code } = /** @type {{code?: string}} */ (error);
    if (code === NAME_TAKEN) {
      await takeNewName(storage);
      return null;
    }
    if (code === undefined || !PULL_ALL.has(code)) throw error;
    await storage.needAll(code);
    return null;
  }
}

/**
 * Compare the copy with the sum of the snapshot that the last page was read from. What differs is counted anew before it is
 * believed, and now and then what does not.
 *
 * @param {SiteStorage} storage @param {Page} page
 */
async function check(storage, page) {
  if (page.sum === undefined) return true;
  const kept = (await storage.sums()) ?? (await storage.recountSums());
  // What the server answered after that snapshot is newer than it: the next pull checks.
  if (kept.newest > page.head) return true;
  let matches = isOf(page, kept);
  if (!matches || restedLong(storage, page)) matches = isOf(page, await storage.recountSums());
  if ((await storage.syncState()).mismatch === matches) await storage.noteSync({ mismatch: !matches });
  return matches;
}

/** @param {Page} page @param {import('../storage/sums.js').ToldSums} copy */
const isOf = ({ sum, count }, copy) => copy.sum === sum && copy.count === count;

/** Whether so many pulls have brought nothing since all was last counted. @param {SiteStorage} storage @param {Page} page */
function restedLong(storage, page) {
  const quiet = page.records.length === 0 ? (rested.get(storage) ?? 0) + 1 : 0;
  rested.set(storage, quiet % RECOUNT_AFTER);
  return quiet === RECOUNT_AFTER;
}

/** Pulls that bring nothing come once a minute: all is counted anew after two hours of rest. */
export const RECOUNT_AFTER = 120;
/** @type {WeakMap<SiteStorage, number>} */
const rested = new WeakMap();
