// After a save that leads on to another screen: there it says what was saved, and takes it back.

import { useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { Saved } from './saved.js';

/** @typedef {{site: string, path: string, text: string, mark: string}} Told `mark`: the save that is taken back */

/** @type {Told | null} */
let told = null;

/** The newest save that can be taken back, in a word that no other has. @param {Site} site */
const newestOf = async (site) => JSON.stringify((await site.storage.undoable())[0] ?? null);

/**
 * Say on the next screen that something is saved.
 *
 * @param {Site} site @param {string} path where it is said @param {string} [text]
 */
export async function tellSaved(site, path, text = say('page.saved-on-this-phone')) {
  told = { site: site.id, path: path.split('?')[0], text, mark: await newestOf(site) };
}

/** What is to be told on this screen. Elsewhere it is forgotten. */
function toldHere() {
  if (told && told.path !== location.pathname) told = null;
  return told;
}

/** @param {{site: string | null}} props */
export function JustSaved({ site }) {
  const [here] = useState(toldHere);
  const opened = here && here.site === site ? store.opened.get(here.site) : undefined;
  const newest = useLive(async () => (opened ? newestOf(opened) : null), [opened]);
  const [undone, setUndone] = useState(false);
  if (!here || !opened || newest === undefined) return null;
  // Another save has come since: this one is taken back no more from here.
  if (newest !== here.mark && !undone) return null;
  return html`<div class="just-saved"><${Saved} site=${opened} onUndone=${() => setUndone(true)}>${here.text}<//></div>`;
}
