// Any facet of any record, by its generated form.

import { useEffect, useState } from 'preact/hooks';
import { FacetForm } from './forms/facet_form.js';
import { useUnits } from './forms/units.js';
import { html } from './html.js';
import { navigate } from './navigate.js';
import { Page } from './parts/page.js';
import { Caution } from './parts/parts.js';
import { parentPath, titleOf } from './places.js';
import { say } from './words.js';

/** Facets that are seen with the fixture open, and what to mind there. @type {Record<string, string>} */
const CAUTIONS = {
  housing: 'caution.lens-open',
  lamps: 'caution.lamps',
  ballast: 'caution.cover-open',
  ballast_space: 'caution.cover-open',
  wiring: 'caution.cover-open',
  supply: 'caution.panel',
};

/** @param {{site: any, params: {id: string, facet: string}}} props */
export function RecordForm({ site, params: { id, facet } }) {
  const units = useUnits(site);
  const [form, setForm] = useState(/** @type {any} */ (undefined));
  const [record, setRecord] = useState(/** @type {any} */ (undefined));
  useEffect(() => {
    Promise.all([site.form(id, facet), site.get(id)]).then(([opened, found]) => {
      setForm(opened);
      setRecord(found ?? null);
    });
  }, [id, facet]);
  if (form === undefined) return null;
  const spec = site.spec.records[form.type]?.facets[facet];
  if (!record || !spec)
    return html`<${Page} title="Not here" back=${`/s/${site.id}`} site=${site.id}><p>${say('view.record-missing')}</p><//>`;
  const back = parentPath(site, record);
  const caution = CAUTIONS[facet];
  /** @param {Record<string, any>} value */
  const save = async (value) => {
    await site.save([{ ...form, value }]);
    navigate(back);
  };
  return html`<${Page} title=${spec.title} over=${titleOf(record)} back=${back} site=${site.id}>
    ${caution && html`<${Caution}>${say(caution)}<//>`}
    <${FacetForm} fields=${spec.fields} value=${form.value} units=${units} onSave=${save} />
  <//>`;
}
