// An address without a screen, or a site that cannot be opened.

import { html } from './html.js';
import { Page } from './parts/page.js';
import { say, sayError } from './words.js';

/** @param {{path: string, why?: any}} props */
export function NotFound({ path, why }) {
  return html`<${Page} title="Not found" back="/">
    <p role="alert">${why ? sayError(why) : say('view.not-found', { path })}</p>
    <a class="button" href="/">Your sites</a>
  <//>`;
}
