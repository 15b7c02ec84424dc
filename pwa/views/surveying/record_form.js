// Any facet of any record, by its generated form.

import { useEffect, useState } from 'preact/hooks';
import { FacetForm } from '../forms/facet_form.js';
import { useUnits } from '../forms/units.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Caution } from '../parts/parts.js';
import { FacetPhotos } from '../parts/photos.js';
import { parentPath, titleOf } from '../places.js';
import { say } from '../words.js';
import { useNumberInUse } from './number_in_use.js';

/** Facets that are seen with the fixture open, and what to mind there. @type {Record<string, string>} */
const CAUTIONS = {
  housing: 'caution.lens-open',
  lamps: 'caution.lamps',
  ballast: 'caution.cover-open',
  ballast_space: 'caution.cover-open',
  wiring: 'caution.cover-open',
  spring_back: 'readings.caution',
  supply: 'caution.panel',
};

/** @param {{site: Site, params: {id: string, facet: string}}} props */
export function RecordForm({ site, params: { id, facet } }) {
  const record = useLive(async () => (await site.get(id)) ?? null, [id]);
  if (record === undefined) return null;
  const spec = record && site.spec.records[record.type]?.facets[facet];
  if (!spec)
    return html`<${Page} title=${say('survey.not-here')} back=${`/s/${site.id}`} site=${site.id} look="form"><p>${say('view.record-missing')}</p><//>`;
  return html`<${Opened} key=${`${id} ${facet}`} site=${site} record=${record} facet=${facet} spec=${spec} />`;
}

/** The form as it was when it opened; what arrives meanwhile is for the save to judge. @param {{site: Site, record: RecordView, facet: string, spec: SpecFacet}} props */
function Opened({ site, record, facet, spec }) {
  const units = useUnits(site);
  const numberInUse = useNumberInUse(site, record.id);
  const mind = record.type === 'room' && facet === 'identity' ? numberInUse : undefined;
  const [form, setForm] = useState(/** @type {OpenForm | undefined} */ (undefined));
  useEffect(() => {
    site.form(record.id, facet).then(setForm);
  }, []);
  if (form === undefined) return null;
  const back = parentPath(site, record);
  const caution = CAUTIONS[facet];
  /** @param {Value} value */
  const save = async (value) => {
    await site.save([/** @type {Draft} */ ({ ...form, value })]);
    navigate(back);
  };
  return html`<${Page} title=${spec.title} over=${titleOf(record)} back=${back} site=${site.id} look="form">
    ${caution && html`<${Caution}>${say(caution)}<//>`}
    <${FacetPhotos} site=${site} record=${record} facet=${facet} />
    <${FacetForm} fields=${spec.fields} value=${form.value} units=${units} onSave=${save} mind=${mind}
      together=${(/** @type {Value} */ value) => site.wrongTogether(record.type, facet, value)} />
  <//>`;
}
