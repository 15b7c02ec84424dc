// The server's state in, page by page, until the copy is checked against the server's digest.

import { digest } from './digest.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('../storage/types.js').Page} Page */
/** @typedef {import('../storage/types.js').SyncState} SyncState */
/** @typedef {import('./transport.js').Transport} Transport */

const PAGE = 1000;
const PULL_ALL = new Set(['scope-changed', 'cursor-ahead']);

/**
 * Pull until nothing newer is there.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {() => void} [onPage] after each page was taken in
 * @returns {Promise<{matches: boolean}>} whether the copy has the digest that the server told
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
    if (code === undefined || !PULL_ALL.has(code)) throw error;
    await storage.needAll(code);
    return null;
  }
}

/** Compare the copy with the digest of the snapshot that the last page was read from. @param {SiteStorage} storage @param {Page} page */
async function check(storage, page) {
  if (page.digest === undefined) return true;
  const { verified } = await storage.syncState();
  if (page.records.length === 0 && page.digest === verified) return true;
  const records = await storage.kept();
  // What the server answered after that snapshot is newer than it: the next pull checks.
  if (records.some((record) => record.seq > page.head)) return true;
  const own = await digest(records);
  const matches = own.digest === page.digest && own.count === page.count;
  await storage.noteSync({ verified: matches ? page.digest : null, mismatch: !matches });
  return matches;
}
