// On each screen of a site that the server has no more: what is entered here goes nowhere.

import { store } from '../../store/store.js';
import { useStatus } from '../hooks.js';
import { html } from '../html.js';
import { say } from '../words.js';

/** @param {{site: string | null}} props id of the site that is shown */
export function GoneNotice({ site }) {
  useStatus();
  if (site === null || !store.opened.get(site)?.engine.isGone) return null;
  return html`<div class="notice bad stack"><p>${say('gone.notice')}</p><a class="button" href=${`/s/${site}/deleted`}>${say('gone.what-to-do')}</a></div>`;
}
