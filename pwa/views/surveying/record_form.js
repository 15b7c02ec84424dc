// Any facet of any record, by its generated form.

import { useEffect, useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { KeptForm } from '../forms/kept_form.js';
import { useUnits } from '../forms/units.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { tapeCaution } from '../measuring/caution_of_the_day.js';
import { navigate } from '../navigate.js';
import { tellSaved } from '../parts/just_saved.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Caution } from '../parts/parts.js';
import { FacetPhotos } from '../parts/photos.js';
import { mayWrite, parentPath, titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { FacetRows } from './facet_rows.js';
import { headOf } from './heads.js';
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

/** What is answered for many at once says so. @type {Record<string, string>} */
const ABOUT = { floor: 'survey.for-the-whole-floor', panel: 'survey.for-the-whole-panel' };

/** @param {{site: Site, params: {id: string, facet: string}}} props */
export function RecordForm({ site, params: { id, facet } }) {
  const record = useLive(async () => (await site.get(id)) ?? null, [id]);
  if (record === undefined) return null;
  const spec = record && site.spec.records[record.type]?.facets[facet];
  if (!spec)
    return html`<${Page} title=${say('survey.not-here')} back=${`/s/${site.id}`} site=${site.id} look="form"><${NotHere} site=${site} /><//>`;
  if (!mayWrite(site, record.type, facet))
    return html`<${OnlyRead} site=${site} record=${record} facet=${facet} spec=${spec} />`;
  return html`<${Opened} key=${`${id} ${facet}`} site=${site} record=${record} facet=${facet} spec=${spec} />`;
}

/** What it says, for who may not change it. @param {{site: Site, record: RecordView, facet: string, spec: SpecFacet}} props */
function OnlyRead({ site, record, facet, spec }) {
  return html`<${Page} title=${spec.title} over=${titleOf(record)} back=${parentPath(site, record)} site=${site.id} look="form">
    <p class="notice">${say('survey.only-read')}</p>
    <${FacetRows} site=${site} record=${record} facets=${[facet]} />
  <//>`;
}

/** A tape near the sockets meets what feeds them. @param {RecordView} record @param {string} name */
const cautionOf = (record, name) =>
  record.type === 'kind' && name === 'spring_back'
    ? tapeCaution(/** @type {RecordView<'kind'>} */ (record).facets.lamps ?? {})
    : CAUTIONS[name];

/** The form as it was when it opened; what arrives meanwhile is for the save to judge. @param {{site: Site, record: RecordView, facet: string, spec: SpecFacet}} props */
function Opened({ site, record, facet, spec }) {
  const units = useUnits(site);
  const numberInUse = useNumberInUse(site, record.id);
  const mind = record.type === 'room' && facet === 'identity' ? numberInUse : undefined;
  const [form, setForm] = useState(/** @type {OpenForm | undefined} */ (undefined));
  const over = useLive(() => headOf(site, record), [record.id]);
  useEffect(() => {
    site.form(record.id, facet).then(setForm);
  }, []);
  if (form === undefined || over === undefined) return null;
  const name = `${record.id}.${facet}`;
  const back = parentPath(site, record);
  const caution = cautionOf(record, facet);
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    await site.save([/** @type {Draft} */ ({ ...form, seen, value })]);
    // The screen goes with the form in it.
    draftOf(site.id, name).forget();
    await tellSaved(site, back, say('survey.facet-saved', { title: spec.title }));
    navigate(back);
  };
  return html`<${Page} title=${spec.title} over=${over} back=${back} site=${site.id} look="form">
    ${caution && html`<${Caution}>${say(caution)}<//>`}
    ${ABOUT[record.type] && html`<p class="notice">${say(ABOUT[record.type])}</p>`}
    <${KeptForm} site=${site} name=${name} seen=${form.seen} onSave=${save}
      beside=${html`<${FacetPhotos} site=${site} record=${record} facet=${facet} />`}
      form=${{
        fields: spec.fields,
        value: form.value,
        units,
        mind,
        together: (/** @type {Value} */ value) => site.wrongTogether(record.type, facet, value),
      }} />
  <//>`;
}
