// One room: what hangs in it, how far it is, and what the door already tells.

import { useEffect, useState } from 'preact/hooks';
import { FacetRows } from './facet_rows.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Mark, Problem, Row } from '../parts/parts.js';
import { PhotoButton, Photos } from '../parts/photos.js';
import { Progress } from '../parts/progress.js';
import { RoomStrip } from '../parts/room_strip.js';
import { Saved } from '../parts/saved.js';
import { mayWrite, titleOf } from '../places.js';
import { beIn } from './last_room.js';
import { groupsOf } from './survey.js';
import { counted, say } from '../words.js';

const FACETS = ['identity', 'ceiling', 'surroundings', 'size', 'surfaces', 'hours'];

/** @param {{site: Site, params: {id: string}}} props */
export function Room({ site, params: { id } }) {
  const read = useLive(async () => {
    const room = /** @type {RecordView<'room'> | undefined} */ (await site.get(id));
    const [floor, groups, rooms] = room
      ? await Promise.all([site.get(room.parent ?? ''), groupsOf(site, id), roomsBeside(site, room)])
      : [null, [], []];
    return { room, floor, groups, rooms };
  }, [id]);
  useEffect(() => beIn(site.id, id), [id]);
  if (!read) return null;
  const { room, floor, groups, rooms } = read;
  const back = `/s/${site.id}`;
  if (!room)
    return html`<${Page} title=${say('page.room')} back=${back} site=${site.id}><p>${say('view.record-missing')}</p><//>`;
  return html`<${Page} title=${titleOf(room)} over=${floor ? titleOf(floor) : say('page.room')} back=${back} site=${site.id} look="beside">
    <${RoomStrip} site=${site} room=${room} rooms=${rooms} />
    ${room.removed && html`<${Removed} site=${site} room=${room} />`}
    ${room.conflicts.length > 0 && html`<a class="notice bad" href=${`/s/${site.id}/conflicts`}>${say('survey.two-people-entered-different-things')}</a>`}
    <${Groups} site=${site} room=${room} groups=${groups} />
    ${mayWrite(site, 'room', 'progress') && html`<${Progress} site=${site} room=${room} />`}
    <section class="stack" aria-label=${say('survey.about-the-room')}>
      <h2>${say('survey.about-the-room')}</h2>
      <${FacetRows} site=${site} record=${room} facets=${FACETS} />
    </section>
    <section class="stack" aria-label=${say('survey.photos-of-the-room')}>
      <${Photos} site=${site} subject=${id} />
      <${PhotoButton} site=${site} subject=${id} purpose="room" label=${say('survey.photo-of-the-room')} />
    </section>
    <a class="button plain" href=${`/s/${site.id}/light/${id}`}>${say('light.title')}</a>
    <a class="button plain" href=${`/s/${site.id}/open-points?room=${id}`}>${say('survey.what-is-still-open-here')}</a>
    ${!room.removed && mayWrite(site, 'room') && html`<${RemoveRoom} site=${site} room=${room} below=${groups.length} />`}
  <//>`;
}

/** The rooms of the same floor. @param {Site} site @param {RecordView<'room'>} room @returns {Promise<RecordView<'room'>[]>} */
const roomsBeside = async (site, room) => (room.parent ? site.children(room.parent, 'room') : []);

/** @param {{site: Site, room: RecordView<'room'>, groups: import('./survey.js').GroupAndKind[]}} props */
function Groups({ site, room, groups }) {
  const [told, setTold] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const last = groups.at(-1);
  const duplicate = async () => {
    try {
      if (!last) return;
      await site.save(copyOf(site, room.id, last.group));
      setTold(say('survey.another-group-made', { title: titleOf(last.kind ?? last.group) }));
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<section class="stack" aria-label=${say('survey.fixture-groups')}>
    <h2>${say('survey.fixtures')}</h2>
    ${
      groups.length > 0 &&
      html`<ul class="rows">
        ${groups.map(({ group, kind }) => html`<${Row} key=${group.id} href=${`/s/${site.id}/group/${group.id}`} title=${kind ? titleOf(kind) : say('survey.a-kind-that-is-not')} detail=${groupText(group)} end=${html`<${GroupMarks} group=${group} />`} />`)}
      </ul>`
    }
    ${told && html`<${Saved} site=${site} key=${told}>${told}<//>`}
    <${Problem} error=${error} />
    ${
      mayWrite(site, 'group') &&
      html`<a class="button main wide" href=${`/s/${site.id}/room/${room.id}/add`}>${say('survey.add-a-group')}</a>
    ${last && html`<button class="button wide" onClick=${duplicate}>${say('survey.duplicate-the-last-group')}</button>`}`
    }
  </section>`;
}

/** @param {RecordView<'group'>} group */
function groupText({ facets }) {
  const { count, dark_lamps: dark } = facets.count ?? {};
  const parts = [
    count ? counted(count, 'fixture') : say('survey.not-counted'),
    dark ? say('survey.dark', { dark }) : '',
    facets.identity?.note,
  ];
  return parts.filter(Boolean).join(' · ');
}

/** @param {{group: RecordView<'group'>}} props */
function GroupMarks({ group }) {
  const unsent = Object.keys(group.mine).length > 0;
  return html`<span class="marks">
    ${group.conflicts.length > 0 && html`<${Mark} look="attention">${say('survey.conflict')}<//>`}
    ${unsent && html`<${Mark} look="unsent">${say('page.not-sent')}<//>`}
  </span>`;
}

/** Drafts of a group like another, in the same room; what was found of one fixture is not copied. @param {Site} site @param {string} room @param {RecordView<'group'>} group */
function copyOf(site, room, group) {
  const record = site.newId();
  const facets = /** @type {Record<string, Value>} */ (group.facets);
  const copied = ['identity', 'count', 'supply', 'duty'].filter((facet) => facets[facet]);
  return copied.map((facet) => {
    const { gone: _gone, dark_lamps: _dark, emergency_positions: _positions, ...value } = facets[facet];
    return {
      record,
      type: 'group',
      facet,
      value: facet === 'identity' ? { ...value, parent: room } : value,
      seen: null,
    };
  });
}

/** @param {{site: Site, room: RecordView<'room'>}} props */
function Removed({ site, room }) {
  return html`<div class="notice stack">
    <p>${say('survey.this-room-has-been-removed')}</p>
    <button class="button" onClick=${() => site.restore(room.id)}>${say('page.bring-it-back')}</button>
  </div>`;
}

/** @param {{site: Site, room: RecordView<'room'>, below: number}} props */
function RemoveRoom({ site, room, below }) {
  const remove = async () => {
    await site.remove(room.id);
    navigate(`/s/${site.id}/removed/${room.id}`, { replace: true });
  };
  const what =
    below > 0
      ? say('survey.remove-this-room-and-its', { groups: counted(below, 'group') })
      : say('survey.remove-this-room');
  return html`<button class="button plain danger" onClick=${remove}>${what}</button>`;
}

/** After a removal: what is gone, and the way back. @param {{site: Site, params: {id: string}}} props */
export function RoomRemoved({ site, params: { id } }) {
  const room = useLive(() => site.get(id), [id]);
  return html`<${Page} title=${say('page.removed')} back=${`/s/${site.id}`} site=${site.id}>
    <${Saved} site=${site} onUndone=${() => navigate(`/s/${site.id}/room/${id}`, { replace: true })}>
      ${room ? titleOf(room) : say('survey.the-room')} ${say('survey.removed-with-all-in-it')}
    <//>
    <a class="button main" href=${`/s/${site.id}`}>${say('survey.on-with-the-walk')}</a>
  <//>`;
}
