// A new site: its name and the tape, all else can wait; or a copy of one that another server has.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { addSiteTables } from '../../../store/tables.js';
import { FacetForm } from '../../forms/facet_form.js';
import { checkField } from '../../forms/field_checks.js';
import { html } from '../../html.js';
import { navigate } from '../../navigate.js';
import { Page } from '../../parts/page.js';
import { Problem } from '../../parts/parts.js';
import { say } from '../../words.js';

export function NewSite() {
  const { identity, settings } = /** @type {SpecRecords} */ (store.tables.spec.records).site.facets;
  const [begun] = useState(() => {
    const { timeZone: time_zone } = Intl.DateTimeFormat().resolvedOptions();
    // Some phones name a zone as no record can have it.
    return { units: 'inches', ...(checkField(settings.fields.time_zone, time_zone) ? {} : { time_zone }) };
  });
  const [ready, setReady] = useState(false);
  // Words of choices come with the first site, which this may be.
  useEffect(() => {
    addSiteTables(store.tables, store.fetch, store.base).then(() => setReady(true));
  }, []);
  const fields = {
    name: identity.fields.name,
    units: settings.fields.units,
    supply_volts: {
      ...settings.fields.supply_volts,
      choices: settings.fields.supply_volts.choices?.filter((each) => each !== 'not-seen'),
    },
    time_zone: settings.fields.time_zone,
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
    ${store.person?.owner ? ready && html`<${FacetForm} fields=${fields} value=${begun} onSave=${make} save=${say('sites.make')} /><${BringCopy} />` : html`<p class="notice bad">${say('owner-only')}</p>`}
  <//>`;
}

/** A copy that another server made, taken in with its ids. */
function BringCopy() {
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {EventOf<HTMLInputElement>} event */
  const bring = async ({ currentTarget: input }) => {
    const file = input.files?.[0];
    if (!file) return;
    setBusy(true);
    setError(null);
    try {
      const made = /** @type {{id: string}} */ (
        await askServer('/api/site-copies', { method: 'POST', body: file })
      );
      await store.refresh();
      navigate(`/s/${made.id}`, { replace: true });
    } catch (refused) {
      setError(refused);
      setBusy(false);
      input.value = '';
    }
  };
  return html`<section class="card" aria-label=${say('sites.bring-copy')}>
    <h2>${say('sites.bring-copy')}</h2>
    <p>${say('sites.bring-copy-about')}</p>
    <div class="field"><label for="site-copy">${say('sites.bring-copy-file')}</label>
      <input id="site-copy" type="file" accept=".zip,application/zip" disabled=${busy} onChange=${bring} /></div>
    ${busy && html`<p role="status">${say('sites.bring-copy-busy')}</p>`}
    <${Problem} error=${error} />
  </section>`;
}
