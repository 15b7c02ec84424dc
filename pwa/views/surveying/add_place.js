// A new floor, or a new room on a floor.

import { FacetForm } from '../forms/facet_form.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { titleOf } from '../places.js';
import { say } from '../words.js';

/** @param {{site: Site}} props */
export function AddFloor({ site }) {
  const { fields } = site.spec.records.floor.facets.identity;
  /** @param {Value} value */
  const save = async (value) => {
    const record = site.newId();
    await site.save([
      { record, type: 'floor', facet: 'identity', value: { ...value, parent: site.id }, seen: null },
    ]);
    navigate(`/s/${site.id}`, { replace: true });
  };
  return html`<${Page} title=${say('survey.add-a-floor')} back=${`/s/${site.id}`} site=${site.id}>
    <${FacetForm} fields=${fields} value=${{}} onSave=${save} save=${say('survey.add-the-floor')} />
  <//>`;
}

/** @param {{site: Site, params: {floor: string}}} props */
export function AddRoom({ site, params }) {
  const floor = useLive(() => site.get(params.floor), [params.floor]);
  const { fields } = site.spec.records.room.facets.identity;
  /** @param {Value} value */
  const save = async (value) => {
    const record = site.newId();
    const rooms = await site.children(params.floor, 'room');
    const last = Math.max(0, ...rooms.map((room) => room.facets.walk?.order ?? 0));
    await site.save([
      { record, type: 'room', facet: 'identity', value: { ...value, parent: params.floor }, seen: null },
      { record, type: 'room', facet: 'progress', value: { progress: 'open' }, seen: null },
      { record, type: 'room', facet: 'walk', value: { order: last + 1 }, seen: null },
    ]);
    navigate(`/s/${site.id}/room/${record}`, { replace: true });
  };
  return html`<${Page} title=${say('survey.add-a-room')} over=${floor && titleOf(floor)} back=${`/s/${site.id}`} site=${site.id}>
    <${FacetForm} fields=${fields} value=${{}} onSave=${save} save=${say('survey.add-the-room')} />
  <//>`;
}
