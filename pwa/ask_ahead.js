// Asks who is here, and for the site of the address, while the page's own scripts are still on their way. Only the shells of
// sites' addresses name it: a phone that keeps the page has another shell.

/** @typedef {{who: Promise<Response>, site: string, pull: Promise<Response>}} AskedAhead */

/** What a phone asks that has nothing of a site; `OF_NOTHING` of sync/pull.js asks the same. */
const OF_NOTHING = 'pull?since=0&limit=1000&unsent=0&unsent_photos=0';

/** @param {string} path */
function ask(path) {
  const answer = fetch(path, { credentials: 'same-origin', cache: 'no-store' });
  // Heard of by who awaits it.
  answer.catch(() => {});
  return answer;
}

/** @param {string} site @returns {AskedAhead} */
const askAll = (site) => ({
  who: ask('/api/session/if-any'),
  site,
  pull: ask(`/api/sites/${site}/${OF_NOTHING}`),
});

/** Null on a phone that has been here: it asks by what it knows. @returns {Promise<AskedAhead | null>} */
function askIfNew() {
  return new Promise((resolve) => {
    const looking = indexedDB.open('spanwalk');
    looking.onupgradeneeded = () => {
      resolve(askAll(location.pathname.split('/')[2]));
      // There is no database here, and it is the store's to make.
      looking.transaction?.abort();
    };
    looking.onsuccess = () => {
      looking.result.close();
      resolve(null);
    };
    looking.onerror = () => resolve(null);
  });
}

// Once the page's own scripts have asked, this comes too late.
if (globalThis.askedAhead === undefined) globalThis.askedAhead = askIfNew();
