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
 * @param {SiteStorage} storage @param {Transport} transport @param {() => void} onPage
 * @returns {Promise<Page | null>} the last page; null when everything is to be pulled again
 */
async function pullPages(storage, transport, onPage) {
  for (;;) {
    const sync = await storage.syncState();
    const page = await ask(storage, transport, sync);
    if (page === null) return null;
    if (sync.full !== null) await storage.pulledAnew(page);
    else if ((await storage.pulled(page)).missing) return null;
    if (page.records.length > 0) onPage();
    if (!page.more) return page;
  }
}

/** @param {SiteStorage} storage @param {Transport} transport @param {SyncState} sync @returns {Promise<Page | null>} */
async function ask(storage, transport, sync) {
  const [phone, counts] = await Promise.all([storage.phone(), storage.counts()]);
  const anew = sync.full !== null;
  const since = anew ? sync.fullCursor : sync.cursor;
  const first = since === 0;
  try {
    return await transport.pull({
      since,
      limit: PAGE,
      // A phone that starts from nothing knows none of its own values either.
      device: anew || first || sync.firstHead > 0 ? null : phone.device,
      incarnation: anew && first ? null : sync.incarnation,
      scope: anew && first ? null : sync.scope,
      first_head: sync.firstHead || null,
      unsent: counts.operations,
      unsent_photos: counts.photos,
    });
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
