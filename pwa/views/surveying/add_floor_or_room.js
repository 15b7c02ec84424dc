// A new floor, or a new room on a floor.

import { draftOf } from '../drafts.js';
import { FacetForm } from '../forms/facet_form.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { tellSaved } from '../parts/just_saved.js';
import { Page } from '../parts/page.js';
import { titleOf } from '../record_screens.js';
import { nextNumber } from '../rooms/room_numbers.js';
import { say } from '../words.js';
import { useNumberInUse } from './number_in_use.js';
import { inWalkOrder } from './survey.js';

/** @param {{site: Site}} props */
export function AddFloor({ site }) {
  const { fields } = site.spec.records.floor.facets.identity;
  const draft = draftOf(site.id, 'floor');
  /** @param {Value} value */
  const save = async (value) => {
    const record = site.newId();
    await site.save([
      { record, type: 'floor', facet: 'identity', value: { ...value, parent: site.id }, seen: null },
    ]);
    draft.forget();
    await tellSaved(site, `/s/${site.id}`, say('survey.floor-added', { floor: String(value.name) }));
    navigate(`/s/${site.id}`, { replace: true });
  };
  return html`<${Page} title=${say('survey.add-a-floor')} back=${`/s/${site.id}`} site=${site.id} look="form">
    <${FacetForm} fields=${fields} value=${{}} onSave=${save} draft=${draft} save=${say('survey.add-the-floor')} />
  <//>`;
}

/** Of which form the button at the foot is. */
const FORM = 'new-room';

/** @param {{site: Site, params: {floor: string}}} props */
export function AddRoom({ site, params }) {
  const read = useLive(() => readProposal(site, params.floor), [params.floor]);
  const mind = useNumberInUse(site, null);
  const { fields } = site.spec.records.room.facets.identity;
  if (!read) return null;
  const draft = draftOf(site.id, `${params.floor}.room`);
  /** @param {Value} value */
  const save = async (value) => {
    const record = site.newId();
    await site.save([
      { record, type: 'room', facet: 'identity', value: { ...value, parent: params.floor }, seen: null },
      { record, type: 'room', facet: 'progress', value: { progress: 'open' }, seen: null },
      { record, type: 'room', facet: 'walk', value: { order: read.order }, seen: null },
    ]);
    draft.forget();
    const path = `/s/${site.id}/room/${record}`;
    const room = [value.number, value.name].filter(Boolean).join(' ');
    await tellSaved(site, path, say('survey.room-added', { room }));
    navigate(path, { replace: true });
  };
  const button = html`<button class="button main wide" form=${FORM}>${say('survey.add-the-room')}</button>`;
  return html`<${Page} title=${say('survey.add-a-room')} over=${read.floor && titleOf(read.floor)} back=${`/s/${site.id}`} site=${site.id} look="form" act=${button}>
    <${FacetForm} fields=${fields} value=${read.number ? { number: read.number } : {}} onSave=${save} mind=${mind} draft=${draft} form=${FORM} />
  <//>`;
}

/** The floor, the number that its next room probably bears, and that room's place in the walk. @param {Site} site @param {string} id of the floor */
async function readProposal(site, id) {
  const [floor, rooms, all] = await Promise.all([site.get(id), site.children(id, 'room'), site.all('room')]);
  const walk = inWalkOrder(rooms);
  const after = new URLSearchParams(location.search).get('after');
  const before = walk.find((room) => room.id === after) ?? walk.at(-1);
  return {
    floor,
    number: nextNumber(
      before?.facets.identity?.number,
      all.map((room) => room.facets.identity?.number),
    ),
    order: Math.max(0, ...rooms.map((room) => room.facets.walk?.order ?? 0)) + 1,
  };
}
