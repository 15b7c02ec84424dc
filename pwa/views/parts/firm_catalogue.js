// The firm's catalogue beside the buildings, for who keeps it; an owner whose firm has none yet makes it here.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { say } from '../words.js';
import { Problem, Row } from './parts.js';

/** @param {string} site */
const pathOf = (site) => `/s/${site}/desk/catalogue`;

export function FirmCatalogue() {
  const kept = store.sites().filter(({ kind, shut_out: out }) => kind === 'catalogue' && !out);
  if (kept.length > 0) {
    return html`<ul class="rows">${kept.map(
      ({ id, name, role }) =>
        html`<${Row} key=${id} href=${pathOf(id)} title=${name} detail=${`${role} · ${say('catalogue.shared')}`} />`,
    )}</ul>`;
  }
  const has = store.sites().some(({ kind }) => kind === 'catalogue');
  return store.person?.owner && !has ? html`<${Make} />` : null;
}

function Make() {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async () => {
    setError(null);
    try {
      const { id } = /** @type {{id: string}} */ (
        await askServer('/api/catalogue', { method: 'POST', body: {} })
      );
      await store.refresh();
      navigate(pathOf(id));
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="card" aria-label=${say('catalogue.name')}>
    <h2>${say('catalogue.name')}</h2>
    <p class="muted">${say('catalogue.make-help')}</p>
    <${Problem} error=${error} />
    <button type="button" class="button" onClick=${make}>${say('catalogue.make')}</button>
  </section>`;
}
