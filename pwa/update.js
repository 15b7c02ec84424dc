// A newer app is fetched beside this one and waits for consent; then the page is loaded again.

/** @typedef {import('./store/store.js').Store} Store */

/** Whether the newer app was asked for in this tab. */
let asked = false;
/** Whether this phone's worker was told to keep the scanner. */
let scans = false;

/** The developer's switch: with it no worker keeps the page, so that a load brings what stands in the checkout. */
const SWITCH = 'spanwalk.developing';

/** Whether this browser is a developer's; `?developing=yes` says so from then on, `?developing=no` ends it. @param {string} search of the address */
export function isDeveloping(search) {
  const said = new URLSearchParams(search).get('developing');
  if (said === 'yes') localStorage.setItem(SWITCH, said);
  if (said === 'no') localStorage.removeItem(SWITCH);
  return localStorage.getItem(SWITCH) === 'yes';
}

/** Lets go of what a worker kept here before the switch was set. */
async function dropWorkers() {
  const workers = await navigator.serviceWorker.getRegistrations();
  await Promise.all(workers.map((each) => each.unregister()));
  await Promise.all((await caches.keys()).map((name) => caches.delete(name)));
}

/** Crews scan where there is no signal, so their phones keep the scanner before they first need it. */
export function keepScanner() {
  if (scans || !('serviceWorker' in navigator)) return;
  scans = true;
  navigator.serviceWorker.ready.then(({ active }) => active?.postMessage('keepScanner'));
}

/** A scanner that did not come is asked for again where there is a signal again. */
function tellAgain() {
  if (!scans) return;
  scans = false;
  keepScanner();
}

/** @param {Store} store */
function keepScannerOfCrews(store) {
  const look = () => {
    if (store.sites().some(({ role }) => role === 'crew')) keepScanner();
  };
  look();
  store.subscribe(look);
  addEventListener('online', tellAgain);
}

/** The words of another language come with no signal either, once they were chosen here. @param {Store} store */
function keepWordsRead(store) {
  let told = '';
  const look = () => {
    const words = store.wordsAddress;
    if (words === told) return;
    told = words;
    navigator.serviceWorker.ready.then(({ active }) => active?.postMessage({ keepWords: words }));
  };
  look();
  store.subscribe(look);
}

/** Names what stands for the page in a tab and on a home screen: once the phone keeps it, so that no first screen waits for it. */
function nameIcons() {
  for (const link of /** @type {NodeListOf<HTMLLinkElement>} */ (
    document.querySelectorAll('link[data-kept]')
  ))
    link.href = link.dataset.kept ?? '';
}

/** @param {Store} store @param {boolean} developing */
export async function keepPage(store, developing) {
  if (!('serviceWorker' in navigator)) return nameIcons();
  if (developing) {
    await dropWorkers();
    return nameIcons();
  }
  let controlled = navigator.serviceWorker.controller !== null;
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    // The first worker of all takes over a page that is its own version already.
    if (!controlled) {
      controlled = true;
      return;
    }
    // Whoever tapped 'Update' wants it now; in another tab something may be half typed, so that tab only says so.
    if (asked) location.reload();
    else store.outdate();
  });
  const registration = await navigator.serviceWorker
    .register('/service-worker.js', { updateViaCache: 'none' })
    .catch(() => null);
  if (!registration) return nameIcons();
  navigator.serviceWorker.ready.then(nameIcons);
  keepScannerOfCrews(store);
  keepWordsRead(store);
  offer(store, registration.waiting);
  registration.addEventListener('updatefound', () => watch(store, registration.installing));
  document.addEventListener('visibilitychange', () => {
    // An installed app is rarely navigated: ask when it comes to the front.
    if (document.visibilityState === 'visible' && navigator.onLine) registration.update().catch(() => {});
  });
}

/** @param {Store} store @param {ServiceWorker | null} worker */
function watch(store, worker) {
  worker?.addEventListener('statechange', () => {
    if (worker.state === 'installed' && navigator.serviceWorker.controller) offer(store, worker);
  });
}

/** @param {Store} store @param {ServiceWorker | null} worker */
function offer(store, worker) {
  if (!worker) return;
  store.offerUpdate(() => {
    asked = true;
    worker.postMessage('skipWaiting');
  });
}
