// Starts the page: the store, the screens, the service worker, and what wakes a sync.

import { h, render } from 'preact';
import { Router } from './routes.js';
import { store } from './store/store.js';
import { listen } from './sync/triggers.js';
import { keepPage } from './update.js';

async function start() {
  const root = /** @type {HTMLElement} */ (document.getElementById('app'));
  // Tests and people alike can see when the first screen stands.
  const ready = () => document.body.setAttribute('data-ready', '');
  keepPage(store);
  listen(() => store.engines(), window);
  try {
    await store.start();
    root.replaceChildren();
    render(h(Router, { onShown: ready }), root);
  } catch (error) {
    root.textContent = `${store.say('phone.did-not-start')} (${error instanceof Error ? error.message : error})`;
    root.setAttribute('role', 'alert');
    ready();
    throw error;
  }
}

start();
