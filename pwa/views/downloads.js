// Files to take away that ask once more who one is: the link waits until that is answered, then goes on by itself.

import { askServer } from '../store/desk.js';

/** Addresses whose file the server hands out only to who has proven of late who they are. */
const ASKS =
  /^\/api\/(audit\.csv|(me|people\/[^/]+)\/data\.zip|sites\/[^/]+\/((walk|order|quantities|emergency-tests|audit)\.csv|memory\/[^/]+\/[^/]+\/claim-[^/]+\.pdf|recall\.(csv|pdf)|claims\.csv|upkeep\.(csv|ics)|tables\/[^/]+\.(csv|xlsx)|handover\.(pdf|xlsx)|orders\/[^/]+\.(pdf|xlsx|csv)|schedule\.ics|(offers|programmes)\/[^/]+\.(pdf|xlsx)|acceptances\/[^/]+\.txt|attachments\/[^/]+|proof\.zip|(copy|archive)\.zip))$/;

/** @param {Document} page */
export function watchDownloads(page) {
  /** @type {WeakSet<HTMLAnchorElement>} */
  const answered = new WeakSet();
  page.addEventListener('click', async (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest?.('a[href]');
    if (!(link instanceof HTMLAnchorElement) || !ASKS.test(new URL(link.href).pathname)) return;
    if (answered.delete(link)) return;
    event.preventDefault();
    try {
      await askServer('/api/session/entered', { method: 'POST', body: {} });
    } catch (refused) {
      // Called off; all else, a lost network say, the browser's own download tells best.
      if (/** @type {{code?: string}} */ (refused).code === 'enter-again') return;
    }
    answered.add(link);
    link.click();
  });
}
