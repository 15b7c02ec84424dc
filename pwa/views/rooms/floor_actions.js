// One floor: what can be done with all of it.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { readFloor } from './reading.js';

/** @param {{site: Site, params: {floor: string}}} props */
export function FloorActions({ site, params }) {
  const read = useLive(() => readFloor(site, params.floor), [params.floor]);
  const [removed, setRemoved] = useState('');
  if (!read) return null;
  const { floor, rooms } = read;
  const back = `/s/${site.id}`;
  const at = `${back}/floors/${params.floor}`;
  if (removed)
    return html`<${Page} title=${removed} back=${back} site=${site.id}>
      <${Saved} site=${site} onUndone=${() => setRemoved('')}>${say('rooms.floor-removed', { floor: removed })}<//>
      <a class="button main" href=${back}>${say('rooms.back-home')}</a><//>`;
  if (!floor || floor.removed)
    return html`<${Page} title=${say('home.all-rooms')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  const remove = async () => {
    await site.remove(floor.id);
    setRemoved(titleOf(floor));
  };
  const writes = mayWrite(site, 'room');
  return html`<${Page} title=${titleOf(floor)} over=${counted(rooms.length, 'room')} back=${back} site=${site.id}>
    ${
      writes &&
      html`<ul class="rows" aria-label=${say('rooms.floor-about')}>
      <${Row} href=${`${at}/several`} title=${say('rooms.several')} detail=${say('rooms.several-detail')} end="→" />
      ${rooms.length > 0 && html`<${Row} href=${`${at}/copy`} title=${say('rooms.copy')} detail=${say('rooms.copy-detail')} end="→" />`}
      ${rooms.length > 0 && html`<${Row} href=${`${at}/order`} title=${say('rooms.order')} detail=${say('rooms.order-detail')} end="→" />`}
      <${Row} href=${`${back}/plans/${floor.id}?from=${at}`} title=${say('floor-plan.plans')} detail=${say('floor-plan.plans-detail')} end="→" />
      <${Row} href=${`${back}/record/${floor.id}/identity`} title=${say('rooms.rename')} end="→" />
    </ul>`
    }
    ${writes && rooms.length === 0 && html`<button type="button" class="button plain danger" onClick=${remove}>${say('rooms.remove-floor')}</button>`}
  <//>`;
}
