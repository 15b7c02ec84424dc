// A new item of the catalogue: its code and name; its page has the rest.

import { FacetForm } from '../../forms/facet_form.js';
import { html } from '../../html.js';
import { navigate } from '../../navigate.js';
import { NotFound } from '../../not_found.js';
import { say } from '../../words.js';
import { Desk } from '../parts.js';
import { SORTS } from './rows.js';

/** @param {{site: Site, params: {sort: string}}} props */
export function NewItem({ site, params: { sort } }) {
  if (!(sort in SORTS)) return html`<${NotFound} params=${{}} site=${site} path=${location.pathname} />`;
  const { item: _, ...fields } = site.spec.records.catalogue_item.facets.identity.fields;
  const up = `/s/${site.id}/desk/catalogue`;
  /** @param {Value} value */
  const save = async (value) => {
    const id = site.newId();
    await site.save([
      {
        record: id,
        type: 'catalogue_item',
        facet: 'identity',
        value: { ...value, item: sort, parent: site.id },
        seen: null,
      },
    ]);
    navigate(`${up}/item/${id}`, { replace: true });
  };
  return html`<${Desk} site=${site} at="/catalogue" title=${say(`catalogue.new-${sort}`)} back=${up}>
    <${FacetForm} fields=${fields} value=${{ offered: true }} onSave=${save} save=${say('catalogue.make-item')} />
  <//>`;
}
