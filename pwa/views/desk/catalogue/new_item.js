// A new item of the catalogue: its code and name; its page has the rest.

import { draftOf } from '../../drafts.js';
import { KeptForm } from '../../forms/kept_form.js';
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
  const name = `new-item.${sort}`;
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
    draftOf(site.id, name).forget();
    navigate(`${up}/item/${id}`, { replace: true });
  };
  return html`<${Desk} site=${site} at="/catalogue" title=${say(`catalogue.new-${sort}`)} back=${up}>
    <${KeptForm} site=${site} name=${name} onSave=${save} form=${{ fields, value: { offered: true }, save: say('catalogue.make-item') }} />
  <//>`;
}
