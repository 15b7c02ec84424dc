// The site itself: its name, how it is measured and judged, its customer; closed and opened again by an owner.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../../../store/store.js';
import { KeptForm } from '../../forms/kept_form.js';
import { useUnits } from '../../forms/units.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { mayWrite } from '../../record_screens.js';
import { say } from '../../words.js';
import { Desk } from '../parts.js';
import { Closing } from './closing.js';

const FACETS = ['identity', 'customer', 'settings', 'notice', 'anyone'];

/** @param {{site: Site}} props */
export function Settings({ site }) {
  return html`<${Desk} site=${site} at="/settings" title=${say('settings.title')}>
    ${FACETS.map((facet) => html`<${FacetCard} key=${facet} site=${site} facet=${facet} />`)}
    ${store.person?.owner && html`<${Closing} site=${site} />`}
  <//>`;
}

/** One facet of the site's record, with a button of its own. @param {{site: Site, facet: string, onSaved?: () => void}} props */
export function FacetCard({ site, facet, onSaved }) {
  const units = useUnits(site);
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const [saved, setSaved] = useState(0);
  // Of a site that was made a moment ago, or is new to this browser, the server has told nothing yet.
  const here = useLive(async () => (await site.get(site.id)) !== undefined, [site.id]);
  useEffect(() => {
    if (here) site.form(site.id, facet).then(setForm);
  }, [saved, here]);
  const spec = site.spec.records.site.facets[facet];
  if (!form) return null;
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    await site.save([{ record: site.id, type: 'site', facet, value, seen }]);
    setSaved(saved + 1);
    // The name in the list of sites is the server's.
    onSaved?.();
    if (facet === 'identity') site.sync().then(() => store.refresh());
  };
  const title = say(`settings.${facet}`);
  return html`<section class="card" aria-label=${title}>
    <h2>${title}</h2>
    <p class="small muted">${say(`settings.${facet}-about`)}</p>
    ${
      mayWrite(site, 'site', facet)
        ? html`<${KeptForm} site=${site} name=${`${site.id}.${facet}`} seen=${form.seen} onSave=${save}
            form=${{
              fields: spec.fields,
              value: form.value,
              units,
              save: say('settings.save', { what: title }),
              together: (/** @type {Value} */ value) => site.wrongTogether('site', facet, value),
            }}>
            ${saved > 0 && html`<p role="status" class="strong">${say('settings.saved')}</p>`}
          <//>`
        : html`<p>${say('settings.read-only')}</p>`
    }
  </section>`;
}
