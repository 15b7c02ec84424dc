// A new site: its name and the tape; all else can wait.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { FacetForm } from '../forms/facet_form.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { say } from '../words.js';

export function NewSite() {
  const [begun] = useState({ units: 'inches' });
  const { identity, settings } = /** @type {SpecRecords} */ (store.tables.spec.records).site.facets;
  const fields = {
    name: identity.fields.name,
    units: settings.fields.units,
    supply_volts: settings.fields.supply_volts,
  };
  /** @param {Value} value */
  const make = async ({ name, ...rest }) => {
    const made = /** @type {{id: string}} */ (
      await askServer('/api/sites', { method: 'POST', body: { name, settings: rest } })
    );
    await store.refresh();
    navigate(`/s/${made.id}`, { replace: true });
  };
  return html`<${Page} title=${say('sites.make')} back="/">
    <p>${say('sites.make-about')}</p>
    ${store.person?.owner ? html`<${FacetForm} fields=${fields} value=${begun} onSave=${make} save=${say('sites.make')} />` : html`<p class="notice bad">${say('owner-only')}</p>`}
  <//>`;
}
