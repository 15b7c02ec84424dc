// One item of the catalogue: all that is said of it, what uses it, and what can be done with it.

import { useState } from 'preact/hooks';
import { KeptForm } from '../../forms/kept_form.js';
import { html } from '../../html.js';
import { once } from '../../once.js';
import { navigate } from '../../navigate.js';
import { Caution, Mark, Problem, Row } from '../../parts/parts.js';
import { useReadAndHeard } from '../../parts/when_heard.js';
import { mayWrite } from '../../record_screens.js';
import { FacetRows, facetText } from '../../surveying/facet_rows.js';
import { say } from '../../words.js';
import { Answer, Desk, useServer } from '../parts.js';
import { SORTS, stateOf } from './rows.js';
import { duplicate, recall, retire } from './save.js';

/** @typedef {import('./rows.js').ItemRow} ItemRow */

/** @param {{site: Site, params: {id: string}}} props */
export function CatalogueItem({ site, params: { id } }) {
  const held = useReadAndHeard(site, async () => {
    const item = /** @type {RecordView<'catalogue_item'> | undefined} */ (await site.get(id));
    const [price] = item ? await site.children(id, 'price') : [];
    return { item, price };
  }, [id]);
  if (!held) return null;
  const { read: row, heard } = held;
  const up = `/s/${site.id}/desk/catalogue`;
  const { item, price } = row;
  if (item?.type !== 'catalogue_item')
    return html`<${Desk} site=${site} at="/catalogue" title=${say('catalogue.title')} back=${up}><p>${say('view.record-missing')}</p><//>`;
  const identity = item.facets.identity;
  const state = stateOf(item);
  return html`<${Desk} site=${site} at="/catalogue" title=${identity?.code ?? ''} back=${up}>
    ${state !== 'usable' && html`<div class="notice bad"><p><${Mark} look="attention">${say(`catalogue.state-${state}`)}<//> ${why(item)}</p></div>`}
    <div class="catalogue-item">
      <section class="stack" aria-label=${say('catalogue.said')}>
        <${FacetRows} site=${site} record=${item} facets=${['identity', SORTS[identity?.item ?? ''], 'supply'].filter(Boolean)} />
        <${Price} site=${site} item=${item} price=${price} heard=${heard} />
      </section>
      <div class="stack">
        <${Uses} site=${site} item=${id} />
        ${mayWrite(site, 'catalogue_item') && html`<${Deeds} site=${site} row=${{ item, price }} />`}
      </div>
    </div>
  <//>`;
}

/** @param {RecordView<'catalogue_item'>} item */
const why = ({ facets }) => facets.recall?.reason ?? facets.retired?.reason ?? '';

/** @param {{site: Site, item: RecordView, price: RecordView<'price'> | undefined, heard: boolean}} props `heard`: without it a price may be there that has not come */
function Price({ site, item, price, heard }) {
  const spec = site.spec.records.price.facets.identity;
  if (price)
    return html`<ul class="rows"><${Row} href=${`/s/${site.id}/record/${price.id}/identity`} title=${spec.title} detail=${facetText(spec.fields, price.facets.identity)} /></ul>`;
  if (!heard || !mayWrite(site, 'price')) return null;
  /** @param {Value} value */
  const save = (value) =>
    site.save([
      {
        record: site.newId(),
        type: 'price',
        facet: 'identity',
        value: { ...value, parent: item.id },
        seen: null,
      },
    ]);
  return html`<section class="card" aria-label=${spec.title}><h2>${spec.title}</h2>
    <${KeptForm} site=${site} name=${`${item.id}.price`} onSave=${save} form=${{ fields: spec.fields, value: {}, save: say('catalogue.set-price') }} /></section>`;
}

/** @param {{site: Site, item: string}} props */
function Uses({ site, item }) {
  const answer = useServer(`/api/sites/${site.id}/catalogue/uses`, [item]);
  return html`<section class="card" aria-label=${say('catalogue.uses')}><h2>${say('catalogue.uses')}</h2>
    <${Answer} answer=${answer}>${(/** @type {{uses: ItemUse[]}} */ told) => {
      const use = told.uses.find((each) => each.item === item);
      return html`<ul class="stack">${useTexts(use).map((text) => html`<li key=${text}>${text}</li>`)}</ul>`;
    }}<//>
  </section>`;
}

/** @param {ItemUse | undefined} use @returns {string[]} */
function useTexts(use) {
  if (!use) return [say('catalogue.uses-none')];
  const { groups, fixtures, decided, trial_bars, releases, sites } = use;
  return [
    ...(groups > 0 ? [say('catalogue.uses-plan', { groups, fixtures, decided })] : []),
    ...(trial_bars > 0 ? [say('catalogue.uses-trials', { trials: trial_bars })] : []),
    ...(releases.length > 0 ? [say('catalogue.uses-releases', { releases })] : []),
    ...(sites.length > 0 ? [say('catalogue.uses-sites', { sites: sites.map(({ name }) => name) })] : []),
  ];
}

/** Duplicate, retire or bring back, recall. @param {{site: Site, row: ItemRow}} props */
function Deeds({ site, row }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const { item } = row;
  const state = stateOf(item);
  /** @param {() => Promise<unknown>} deed */
  const doing = (deed) => {
    setError(null);
    return deed().catch(setError);
  };
  const copy = () =>
    doing(async () =>
      navigate(`/s/${site.id}/desk/catalogue/item/${await duplicate(site, row, say('catalogue.copy-mark'))}`),
    );
  return html`<section class="card" aria-label=${say('catalogue.deeds')}>
    <button type="button" class="button" onClick=${once(copy)}>${say('catalogue.duplicate')}</button>
    ${
      state === 'retired'
        ? html`<button type="button" class="button" onClick=${() => doing(() => retire(site, item, ''))}>${say('catalogue.bring-back')}</button>`
        : html`<${Because} id="retire" title=${say('catalogue.retire-because')} deed=${say('catalogue.retire')} onSaid=${(/** @type {string} */ reason) => doing(() => retire(site, item, reason))} />`
    }
    ${
      state === 'recalled'
        ? html`<button type="button" class="button" onClick=${() => doing(() => recall(site, item, ''))}>${say('catalogue.recall-back')}</button>`
        : html`<${Caution}>${say(site.isCatalogue ? 'catalogue.recall-caution-firm' : 'catalogue.recall-caution')}<//>
          <${Because} id="recall" title=${say('catalogue.recall-because')} deed=${say('catalogue.recall')} onSaid=${(/** @type {string} */ reason) => doing(() => recall(site, item, reason))} />`
    }
    <${Problem} error=${error} />
  </section>`;
}

/** @param {{id: string, title: string, deed: string, onSaid: (reason: string) => void}} props */
function Because({ id, title, deed, onSaid }) {
  const [reason, setReason] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!reason.trim()) return setError({ code: 'catalogue.say-why', facts: {} });
    setError(null);
    return onSaid(reason.trim());
  };
  return html`<form class="field" onSubmit=${submit}>
    <label for=${id}>${title}</label>
    <div class="unit-beside">
      <input id=${id} autocomplete="off" value=${reason} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setReason(event.currentTarget.value)} />
      <button class="button danger">${deed}</button>
    </div>
    <${Problem} error=${error} />
  </form>`;
}
