/// <reference lib="webworker" />
// Keeps the whole page on the phone. The server (page_files.py) writes three lines above this one: VERSION, the hash of the lists;
// PRECACHE, each address with the first 16 hexadecimal digits of its SHA-256; LATER, the same of what only the scanner
// needs, and of the words of other languages: that is kept when it is first asked for, or when the page says
// 'keepScanner', or 'keepWords' and their address.
// A changed file changes its list, the list changes this file, and that is what makes a browser update.

// Their types stand in written-by-the-server.d.ts.

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const version = VERSION;
const precache = PRECACHE;
const later = LATER;
const LANGUAGES = '/app/words/';
/** What of `later` the scanner needs: all of it or none. The words of a language are kept by themselves. */
const ofScanner = Object.keys(later).filter((address) => !address.startsWith(LANGUAGES));
const PREFIX = 'spanwalk-page-';
const CACHE = PREFIX + version;
const SHELL = '/';
const HASH_HEADER = 'x-hash';
/** Ways to fetch: what the browser has, however old; what the server says is the newest. */
const AT_HAND = ['force-cache'];
const ASKED = ['no-cache'];

worker.addEventListener('install', (event) => event.waitUntil(fill()));
worker.addEventListener('activate', (event) => event.waitUntil(takeOver()));
worker.addEventListener('message', (event) => {
  if (event.data === 'skipWaiting') worker.skipWaiting();
  if (event.data === 'keepScanner') event.waitUntil(keepLater(ofScanner));
  const words = event.data?.keepWords;
  if (words in later) event.waitUntil(keepLater([words]));
});
worker.addEventListener('fetch', (event) => {
  const address = precachedAddress(event.request);
  if (address) event.respondWith(answer(address, event.request));
});

/** Fetches what has changed and copies the rest; fails as a whole, so that the old version stays, when a file is not the listed one. */
async function fill() {
  const cache = await caches.open(CACHE);
  const earlier = (await caches.keys()).filter((name) => name.startsWith(PREFIX));
  const list = { ...precache, ...(await keptBefore()) };
  await Promise.all(
    Object.entries(list).map(async ([address, hash]) => {
      const kept = await unchanged(earlier, address, hash);
      await cache.put(address, kept ?? (await fetched(address, hash)));
    }),
  );
}

/** What of `later` a version of is on this phone, so that it is needed in the newer app too: the scanner as a whole, and words. */
async function keptBefore() {
  const addresses = Object.keys(later);
  const found = await Promise.all(addresses.map((address) => caches.match(address)));
  const held = addresses.filter((_, place) => found[place]);
  const scans = held.some((address) => ofScanner.includes(address));
  const kept = addresses.filter((each) => (ofScanner.includes(each) ? scans : held.includes(each)));
  return Object.fromEntries(kept.map((address) => [address, later[address]]));
}

/** Fetches what of some files is not here yet. What does not come now comes when it is asked for again. @param {string[]} addresses */
async function keepLater(addresses) {
  const cache = await caches.open(CACHE);
  await Promise.all(addresses.map((address) => keptLater(cache, address).catch(() => {})));
}

/** @param {Cache} cache @param {string} address @returns {Promise<Response>} from the cache, where it stands from now on */
async function keptLater(cache, address) {
  const held = await cache.match(address);
  if (held) return held;
  const come = await fetched(address, later[address]);
  await cache.put(address, come.clone());
  return come;
}

/**
 * @param {string[]} earlier @param {string} address @param {string} hash
 * @returns {Promise<Response | undefined>}
 */
async function unchanged(earlier, address, hash) {
  for (const name of earlier) {
    const found = await (await caches.open(name)).match(address);
    // The shell is always fetched: it is cached with its headers, and they may change where its text does not.
    if (address !== SHELL && found?.headers.get(HASH_HEADER) === hash) return found;
  }
  return undefined;
}

/**
 * What the browser has from loading the page is taken where it is the listed one: a weak link need not carry it twice.
 *
 * @param {string} address @param {string} hash
 */
async function fetched(address, hash) {
  for (const cache of /** @type {RequestCache[]} */ (address === SHELL ? ASKED : [...AT_HAND, ...ASKED])) {
    const response = await fetch(address, { cache });
    if (!response.ok) throw new Error(`${address}: ${response.status}`);
    const body = await response.arrayBuffer();
    const found = hexadecimal(await crypto.subtle.digest('SHA-256', body)).slice(0, hash.length);
    if (found === hash) return kept(response, body, hash);
  }
  throw new Error(`${address} is not the listed one`);
}

/** @param {Response} response @param {ArrayBuffer} body @param {string} hash */
function kept(response, body, hash) {
  const headers = new Headers(response.headers);
  headers.set(HASH_HEADER, hash);
  headers.delete('content-encoding');
  headers.delete('content-length');
  return new Response(body, { headers });
}

/** @param {ArrayBuffer} bytes */
function hexadecimal(bytes) {
  return [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Older caches go; IndexedDB is not this worker's business. */
async function takeOver() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
  }
  await worker.clients.claim();
}

/** The list's address that answers a request; every page address is answered by the shell. @param {Request} request */
function precachedAddress(request) {
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== worker.location.origin || pathname.startsWith('/api/'))
    return null;
  if (request.mode === 'navigate' && !pathname.startsWith('/app/')) return SHELL;
  return pathname in precache || pathname in later ? pathname : null;
}

/** @param {string} address @param {Request} request */
async function answer(address, request) {
  const cache = await caches.open(CACHE);
  if (address in later) return keptLater(cache, address).catch(() => fetch(request));
  return (await cache.match(address)) ?? fetch(request);
}
