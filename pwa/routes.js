// Addresses of the page and their screens; the one place that reads and changes the address.

import { h } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { store } from './store/store.js';
import { StoreError } from './store/store_error.js';
import { keepScanner } from './update.js';
import { watchDownloads } from './views/downloads.js';
import { navigate } from './views/navigate.js';
import { frameShown } from './views/gently.js';
import { Coming } from './views/parts/coming.js';
import { barOf } from './views/parts/destinations.js';
import { NotFound, screens as survey } from './views/screens.js';

export { navigate };

/**
 * @typedef {{path: string, screen: ScreenPart, scans?: boolean}} Route `scans`: who opens it has work for the scanner
 * @typedef {{within: RegExp, scans: boolean, walk?: boolean, load: () => Promise<{screens: Route[]}>}} Part `walk`: what it says
 *   comes with the site, or before; what others say is brought with them
 */

/** Lets the store ask, over whatever screen stands, once more who one is; and files that are taken away wait for that. */
export function askOnceMore() {
  store.enterAgain = async () => (await import('./views/people/enter_again.js')).enterAgain();
  watchDownloads(document);
}

/** Screens that come when one of their addresses is first opened: who signs in waits for none of them. @type {Part[]} */
export const PARTS = [
  {
    within: /^\/s\/[^/]+(\/?$|\/(room|removed|kind|kinds|record|floor|panel)(\/|$))/,
    scans: false,
    walk: true,
    load: () => import('./views/surveying/screens.js'),
  },
  {
    within: /^\/s\/[^/]+\/group\/[^/]+\/?$/,
    scans: false,
    walk: true,
    load: () => import('./views/surveying/group_screen.js'),
  },
  {
    within: /^\/s\/[^/]+\/(group|open-points|conflicts|unsent|deleted|shut-out)(\/|$)/,
    scans: false,
    walk: true,
    load: () => import('./views/screens_b.js'),
  },
  { within: /^\/(s\/[^/]+\/desk|sites)(\/|$)/, scans: false, load: () => import('./views/desk/screens.js') },
  { within: /^\/s\/[^/]+\/(find|more|new)$/, scans: false, load: () => import('./views/finding/screens.js') },
  { within: /^\/s\/[^/]+\/(photo|plans)\//, scans: false, load: () => import('./views/photos/screens.js') },
  { within: /^\/s\/[^/]+\/floors\//, scans: false, load: () => import('./views/rooms/screens.js') },
  {
    within: /^\/(join|reset|enrol|me|people)(\/|$)/,
    scans: false,
    walk: true,
    load: () => import('./views/people/screens.js'),
  },
  {
    within: /^\/s\/[^/]+\/(receive|stock)(\/|$)/,
    scans: false,
    load: () => import('./views/ordering/screens.js'),
  },
  { within: /^\/s\/[^/]+\/(today|sign)(\/|$)/, scans: false, load: () => import('./views/today/screens.js') },
  { within: /^\/s\/[^/]+\/accept(\/|$)/, scans: false, load: () => import('./views/acceptance/screens.js') },
  { within: /^\//, scans: true, load: () => import('./views/crew/screens.js') },
];
/** The crew's, which make the scanner ready. */
const [CREWS] = PARTS.slice(-1);

/** Screens that are left to who must set up a second factor before anything else. */
const BEFORE_FACTOR = /^\/(me|sign-in|enrol|join|reset)(\/|$)/;

/** Screens of a site that are left to a phone which is shut out of it. */
const OF_SHUT_OUT = /^\/s\/[^/]+\/(shut-out|unsent)\/?$/;

const SCANNING = /^\/s\/[^/]+\/scan\/?$/;

/** The screens that are here. @type {Route[]} */
const routes = [...survey];
/** @type {Set<Part>} */
const come = new Set();

/**
 * The screen of an address, and what its pattern names.
 *
 * @param {string} pathname @param {Route[]} [among]
 * @returns {{screen: ScreenPart, scans: boolean, params: Record<string, string>} | null}
 */
export function match(pathname, among = routes) {
  const parts = pathname.split('/').filter(Boolean);
  for (const { path, screen, scans = false } of among) {
    const params = paramsOf(path.split('/').filter(Boolean), parts);
    if (params) return { screen, scans, params };
  }
  return null;
}

/** The id of the site that an address is of. @param {string} pathname */
export const siteOf = (pathname) => pathname.match(/^\/s\/([^/]+)/)?.[1] ?? null;

/** The part that an address lies in, unless it is here. @param {string} pathname */
function lackingPart(pathname) {
  const part = PARTS.find(({ within }) => within.test(pathname));
  return part && !come.has(part) ? part : null;
}

/** The part of the first screen of all is asked for when what stands in its place meanwhile is seen. @param {Part} part */
async function asked(part) {
  if (!document.body.hasAttribute('data-ready') && !store.current?.opened.length) await frameShown();
  return bring(part);
}

/** @param {Part} part @throws {StoreError} there is no signal, or a newer page is on the server */
async function bring(part) {
  askForNamed();
  const words = part.walk ? null : store.bringDeskWords();
  const [{ screens }] = await Promise.all([part.load(), words]).catch((error) => {
    throw new StoreError('phone.part-missing', { reason: String(error) });
  });
  if (!come.has(part)) routes.push(...screens.map((route) => ({ ...route, scans: part.scans })));
  come.add(part);
}

/** Asks in one go for all files that the shell names for the screen of its address. */
function askForNamed() {
  for (const link of /** @type {NodeListOf<HTMLLinkElement>} */ (document.querySelectorAll('link[data-rel]')))
    link.rel = link.dataset.rel ?? '';
}

/** @param {string[]} pattern @param {string[]} parts @returns {Record<string, string> | null} */
function paramsOf(pattern, parts) {
  if (pattern.length !== parts.length) return null;
  /** @type {Record<string, string>} */
  const params = {};
  for (const [place, wanted] of pattern.entries()) {
    if (wanted.startsWith(':')) params[wanted.slice(1)] = decoded(parts[place]);
    else if (wanted !== parts[place]) return null;
  }
  return params;
}

/** @param {string} part */
function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/** Follow a plain link without loading the page. @param {MouseEvent} event */
function follow(event) {
  const link = /** @type {Element} */ (event.target).closest?.('a[href]');
  if (!(link instanceof HTMLAnchorElement) || event.defaultPrevented || event.button !== 0) return;
  const modified = event.metaKey || event.ctrlKey || event.shiftKey || event.altKey;
  const elsewhere =
    link.origin !== location.origin || link.pathname.startsWith('/api/') || link.pathname.startsWith('/app/');
  if (modified || elsewhere || link.target || link.hasAttribute('download')) return;
  event.preventDefault();
  const to = link.pathname + link.search + link.hash;
  const back = link.classList.contains('back');
  navigate(to, { back });
}

/** @param {{onShown?: () => void, opening?: Child}} props `opening`: what stands there before the first screen */
export function Router({ onShown, opening = null }) {
  const [at, setAt] = useState(() => location.pathname);
  const isKnown = useWhoIsHere();
  const { found, lacking, lost } = useRoute(at, isKnown || siteOf(at) === null);
  // The site is opened beside the part that has its screen.
  const siteId = found || lacking ? siteOf(at) : null;
  const { site, failed } = useSite(siteId);
  const shutOut = useShutOut(siteId, site);
  useScannerNear(site, at);
  useEffect(() => {
    const move = () => setAt(location.pathname);
    addEventListener('popstate', move);
    addEventListener('click', follow);
    return () => {
      removeEventListener('popstate', move);
      removeEventListener('click', follow);
    };
  }, []);
  useEffect(() => {
    if (shutOut && siteId !== null && !OF_SHUT_OUT.test(at))
      navigate(`/s/${siteId}/shut-out`, { replace: true });
  }, [shutOut, siteId, at]);
  const factorFirst = useStore(() => store.factorFirst);
  useEffect(() => {
    if (factorFirst && !BEFORE_FACTOR.test(at)) navigate('/me', { replace: true });
  }, [factorFirst, at]);
  const waits = lacking || (siteId !== null && !site && !failed);
  const newHere = useNewHere(siteId);
  useEffect(() => {
    if (!waits) onShown?.();
  }, [waits]);
  // The first screen of all may wait for the server: until then the page goes on saying that it opens, or what.
  if (waits && document.body.hasAttribute('data-ready')) return null;
  if (waits) return newHere === null ? opening : h(Coming, { name: newHere });
  if (!found) return h(NotFound, { params: {}, site: null, path: at, why: lost });
  if (failed) return h(NotFound, { params: found.params, site: null, path: at, why: failed });
  return h(found.screen, { key: at, params: found.params, site });
}

/**
 * Whether it is known who is here. On a phone that knows of nobody, a site's part is asked for when it is and the frame says
 * that it comes: on a weak link it would share it with both.
 */
function useWhoIsHere() {
  const [isKnown, setKnown] = useState(store.current !== null);
  useEffect(() => {
    store.whoIsHere().then(() => setKnown(true));
  }, []);
  return isKnown;
}

/**
 * The screen of an address, fetched where it is not here yet.
 *
 * @param {string} at @param {boolean} mayAsk
 * @returns {{found: ReturnType<typeof match>, lacking: boolean, lost: unknown}} `lost`: why it did not come
 */
function useRoute(at, mayAsk) {
  const [held, setHeld] = useState(/** @type {{at: string, lost: unknown}} */ ({ at: '', lost: null }));
  const found = match(at);
  const part = found ? null : lackingPart(at);
  const lost = held.at === at ? held.lost : null;
  useEffect(() => {
    let wanted = true;
    /** @param {unknown} lost */
    const hold = (lost) => wanted && setHeld({ at, lost });
    if (part && mayAsk)
      asked(part).then(
        () => hold(null),
        (error) => hold(error),
      );
    return () => {
      wanted = false;
    };
  }, [at, part, mayAsk]);
  useEffect(() => {
    if (found?.scans) keepScanner();
  }, [found?.scans]);
  return { found, lacking: part !== null && !lost, lost };
}

/** Has the scanner made ready while a crew sees a screen from which it is one tap away. @param {Site | null} site @param {string} at */
function useScannerNear(site, at) {
  const mayScan = site !== null && barOf(site.role).some(({ id }) => id === 'scan');
  useEffect(() => {
    if (!mayScan || SCANNING.test(at)) return;
    // What cannot come now comes with the tap, which says why where it does not.
    bring(CREWS)
      .then(() => import('./views/crew/screens.js'))
      .then(
        ({ scanIsNear }) => scanIsNear(),
        () => {},
      );
  }, [mayScan, at]);
}

/** Something of the store that decides which screen stands. @template T @param {() => T} read @returns {T} */
function useStore(read) {
  const [value, setValue] = useState(read);
  useEffect(() => store.subscribe(() => setValue(() => read())), []);
  return value;
}

/** The name of a site of which nothing is on this phone yet. @param {string | null} id @returns {string | null} null of any other */
function nameOfNew(id) {
  const entry = store.sites().find((each) => each.id === id);
  return entry && !entry.shut_out && !store.current?.opened.includes(entry.id) ? entry.name : null;
}

/** The same, from then on until another site's address is opened: what was begun is not taken back while it comes. @param {string | null} id */
function useNewHere(id) {
  const [name, setName] = useState(() => nameOfNew(id));
  useEffect(() => {
    setName(nameOfNew(id));
    return store.subscribe(() => setName((known) => known ?? nameOfNew(id)));
  }, [id]);
  return name ?? nameOfNew(id);
}

/** Whether this phone is shut out of the site of an address. @param {string | null} id @param {Site | null} site */
function useShutOut(id, site) {
  const now = () => site?.isShutOut === true;
  const [out, setOut] = useState(now());
  useEffect(() => {
    setOut(now());
    return store.subscribe(() => setOut(now()));
  }, [id, site]);
  return out;
}

/**
 * The opened site of an address.
 *
 * @param {string | null} id
 * @returns {{site: Site | null, failed: unknown}}
 */
function useSite(id) {
  const [held, setHeld] = useState(
    /** @type {{id: string | null, person: string | null, site: Site | null, failed: unknown}} */ ({
      id: null,
      person: null,
      site: null,
      failed: null,
    }),
  );
  const [person, setPerson] = useState(store.person?.id ?? null);
  useEffect(() => store.subscribe(() => setPerson(store.person?.id ?? null)), []);
  store.shown = id;
  useEffect(() => {
    if (id === null) return undefined;
    let wanted = true;
    /** @param {Site | null} site @param {unknown} failed */
    const hold = (site, failed) => wanted && setHeld({ id, person, site, failed });
    store.openSite(id).then(
      (site) => hold(site, null),
      (error) => hold(null, error),
    );
    return () => {
      wanted = false;
    };
  }, [id, person]);
  if (id === null) return { site: null, failed: null };
  if (held.id !== id || held.person !== person) return { site: null, failed: null };
  return held;
}
