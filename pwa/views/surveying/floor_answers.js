// What is answered once for a whole floor, or for all that hangs on a panel; rooms and groups say where they differ.

import { useState } from 'preact/hooks';
import { samePanel } from '../../rules/inherited.js';
import { draftOf } from '../drafts.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { idOfName } from '../name_id.js';
import { navigate } from '../navigate.js';
import { tellSaved } from '../parts/just_saved.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Caution, Problem, Row } from '../parts/parts.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { FacetRows, facetText } from './facet_rows.js';

const OF_FLOOR = ['identity', 'supply', 'ceiling', 'surroundings', 'hours', 'work_hours'];
const PANEL = 'panel';
const OF_PANEL = ['identity', 'supply'];

/** @param {{site: Site, params: {floor: string}}} props */
export function FloorAnswers({ site, params }) {
  const read = useLive(async () => {
    const [floor, panels] = await Promise.all([site.get(params.floor), site.all('panel')]);
    return { floor, panels: panels.sort((a, b) => titleOf(a).localeCompare(titleOf(b))) };
  }, [params.floor]);
  if (!read) return null;
  const { floor, panels } = read;
  const back = `/s/${site.id}`;
  if (!floor)
    return html`<${Page} title=${say('survey.for-all-rooms')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  const { fields } = site.spec.records.panel.facets.supply;
  return html`<${Page} title=${say('survey.for-all-rooms')} over=${titleOf(floor)} back=${back} site=${site.id}>
    <p class="notice">${say('survey.for-the-whole-floor')}</p>
    <${FacetRows} site=${site} record=${floor} facets=${OF_FLOOR} />
    <section class="stack" aria-label=${say('survey.panels')}>
      <h2>${say('survey.panels')}</h2>
      <p class="small muted">${say('survey.about-panels')}</p>
      ${
        panels.length > 0 &&
        html`<ul class="rows">${panels.map((panel) => html`<${Row} key=${panel.id} href=${`/s/${site.id}/panel/${panel.id}`} title=${titleOf(panel)} detail=${facetText(fields, panel.facets.supply) ?? say('survey.not-seen')} />`)}</ul>`
      }
      ${mayWrite(site, 'panel') && html`<${AddPanel} site=${site} />`}
    </section>
  <//>`;
}

/** A panel's record is made of its name: two who name the same one meet in one. @param {{site: Site}} props */
function AddPanel({ site }) {
  const draft = draftOf(site.id, 'panel');
  const [name, setName] = useState(() => draft.at ?? '');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const add = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const { title } = site.spec.records.panel.facets.identity.fields.name;
    if (!name.trim()) return setError({ code: 'field.missing', facts: { title } });
    const record = await idOfName(site.id, [PANEL, samePanel(name)].join(' '));
    const before = await site.get(record);
    try {
      if (before?.removed) await site.restore(record);
      else if (!before)
        await site.save([
          {
            record,
            type: 'panel',
            facet: 'identity',
            value: { parent: site.id, name: name.trim() },
            seen: null,
          },
        ]);
      draft.forget();
      const path = `/s/${site.id}/panel/${record}`;
      if (!before) await tellSaved(site, path);
      return navigate(path);
    } catch (problem) {
      return setError(problem);
    }
  };
  return html`<form class="field" onSubmit=${add} novalidate>
    <label for="panel-name">${say('survey.name-of-a-panel')}</label>
    <div class="unit-beside">
      <input id="panel-name" autocomplete="off" maxlength="20" value=${name} onInput=${(
        /** @type {EventOf<HTMLInputElement>} */ event,
      ) => {
        setName(event.currentTarget.value);
        draft.keep(event.currentTarget.value);
      }} />
      <button class="button">${say('survey.add-a-panel')}</button>
    </div>
    <${Problem} error=${error} />
  </form>`;
}

/** @param {{site: Site, params: {id: string}}} props */
export function PanelAnswers({ site, params: { id } }) {
  const panel = useLive(async () => (await site.get(id)) ?? null, [id]);
  if (panel === undefined) return null;
  const back = `/s/${site.id}`;
  if (panel === null)
    return html`<${Page} title=${say('survey.panel')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  return html`<${Page} title=${titleOf(panel)} over=${say('survey.panel')} back=${back} site=${site.id}>
    <p class="notice">${say('survey.for-the-whole-panel')}</p>
    <${Caution}>${say('caution.panel')}<//>
    <${FacetRows} site=${site} record=${panel} facets=${OF_PANEL} />
  <//>`;
}
