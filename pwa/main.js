// Starts the page: the store, the screens, what wakes a sync; then the service worker, which would take the link from them.

import { h, render } from 'preact';
import { askOnceMore, Router, siteOf } from './routes.js';
import { store } from './store/store.js';
import { listen } from './sync/triggers.js';
import { isDeveloping, keepPage } from './update.js';

async function start() {
  // Read before a screen changes the address.
  const { search } = location;
  const root = /** @type {HTMLElement} */ (document.getElementById('app'));
  // Tests and people alike can see when the first screen stands.
  const ready = () => {
    if (document.body.hasAttribute('data-ready')) return;
    document.body.setAttribute('data-ready', '');
    keepPage(store, isDeveloping(search));
  };
  listen(() => store.engines(), window);
  askOnceMore();
  try {
    await store.start(siteOf(location.pathname));
    const [said, more] = root.firstElementChild?.childNodes ?? [];
    root.replaceChildren();
    const opening = h('p', { class: 'opening' }, said?.textContent, h('span', null, more?.textContent));
    render(h(Router, { onShown: ready, opening }), root);
  } catch (error) {
    root.textContent = `${store.say('phone.did-not-start')} (${error instanceof Error ? error.message : error})`;
    root.setAttribute('role', 'alert');
    ready();
    throw error;
  }
}

start();
