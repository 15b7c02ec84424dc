// An address without a screen, a site that cannot be opened, or a part of the page that did not come.

import { html } from './html.js';
import { Page } from './parts/page.js';
import { say, sayError } from './words.js';

/** @param {{path: string, why?: unknown}} props */
export function NotFound({ path, why }) {
  return html`<${Page} title=${say('page.not-found')} back="/">
    <p role="alert">${why ? sayError(why) : say('view.not-found', { path })}</p>
    ${/** @type {Thrown} */ (why)?.code === 'phone.part-missing' && html`<button type="button" class="button main" onClick=${() => location.reload()}>${say('page.load-again')}</button>`}
    <a class="button" href="/">${say('page.your-sites')}</a>
  <//>`;
}
