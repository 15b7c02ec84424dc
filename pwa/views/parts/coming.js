// What stands of a site's screen before anything of the site is here: whose it is, and that it comes.

import { html } from '../html.js';
import { say } from '../words.js';
import { useBarAtTheSide } from './bar.js';

/**
 * The frame of a screen whose part of the page is still on its way: it lies as the screen will.
 *
 * @param {{name: string}} props of the site
 */
export function Coming({ name }) {
  const atTheSide = useBarAtTheSide();
  return html`<div class="page with-bar">
    <header class="top">
      <a class="back" href="/" aria-label=${say('page.back')}>←</a>
      <h1><span class="over">${say('place.home')}</span>${name}</h1>
      <div></div>
    </header>
    ${atTheSide && html`<div class="bar"></div>`}
    <main><${IsComing} /></main>
  </div>`;
}

export const IsComing = () => html`<div class="notice stack" role="status">
  <p class="strong">${say('survey.fetching')}</p>
  <p>${say('survey.fetching-stays')}</p>
</div>`;
