// The plans of a floor: bring one in, say where rooms and groups are, tap a pin to open what stands there.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Photos } from '../parts/photos.js';
import { mayWrite, parentPath, titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { BringPlan } from './bring_plan.js';
import { FloorPlan } from './floor_plan.js';
import { nextWithoutPlace } from './pins.js';
import { Placing, usePlacing } from './placing.js';
import { pinsOf, readPlans } from './reading.js';

/** @typedef {import('./reading.js').Placeable} Placeable */
/** @typedef {import('./reading.js').PlansRead} PlansRead */

/** @param {{site: Site, params: {floor: string}}} props */
export function PlansOfFloor({ site, params }) {
  const read = useLive(() => readPlans(site, params.floor), [params.floor]);
  const asked = new URLSearchParams(location.search);
  const [chosen, setChosen] = useState(asked.get('place'));
  if (!read) return null;
  const from = asked.get('from') ?? '';
  const back = from.startsWith(`/s/${site.id}/`) ? from : `/s/${site.id}`;
  if (!read.floor || read.floor.removed)
    return html`<${Page} title=${say('floor-plan.plans')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  return html`<${Shown} site=${site} read=${read} floor=${read.floor} back=${back} chosen=${chosen} onChoose=${setChosen} />`;
}

/** @param {{site: Site, read: PlansRead, floor: RecordView<'floor'>, back: string, chosen: string | null, onChoose: (id: string | null) => void}} props */
function Shown({ site, read, floor, back, chosen, onChoose }) {
  const placed = [...read.rooms, ...read.groups];
  const placing = usePlacing(site, chosen, placed, read.plans);
  const writes = mayWrite(site, 'room', 'pin');
  /** @param {string} id */
  const open = (id) => {
    const record = placed.find((each) => each.id === id)?.record;
    if (record) navigate(parentPath(site, record));
  };
  return html`<${Page} title=${say('floor-plan.plans')} over=${titleOf(floor)} back=${back} site=${site.id} look="plans">
    ${read.plans.length === 0 && html`<p>${say(writes ? 'floor-plan.none-yet' : 'floor-plan.none')}</p>`}
    <div class="plan-panes ${read.plans.length > 0 ? 'has-plan' : ''}">
      ${
        read.plans.length > 0 &&
        html`<div class="stack plan-pane">
          <${FloorPlan} site=${site} floor=${floor.id} pins=${pinsOf(placed)} chosen=${chosen} onPin=${chosen && writes ? onChoose : open}
            onPlace=${placing.of && writes ? placing.place : undefined} onKey=${writes ? placing.key : undefined} />
          ${placing.of && writes && html`<${Placing} site=${site} placing=${placing} plans=${read.plans} next=${nextWithoutPlace(read.rooms, placing.of.room)} onChoose=${onChoose} />`}
        </div>`
      }
      <div class="stack">
        <${List} site=${site} read=${read} chosen=${chosen} onChoose=${writes && read.plans.length > 0 ? onChoose : undefined} />
        ${writes && html`<${Bring} site=${site} floor=${floor.id} isFirst=${read.plans.length === 0} />`}
      </div>
    </div>
  <//>`;
}

/** @param {{site: Site, floor: string, isFirst: boolean}} props */
function Bring({ site, floor, isFirst }) {
  return html`<section class="stack" aria-label=${say('floor-plan.bring')}>
    <h2>${say(isFirst ? 'floor-plan.bring' : 'floor-plan.bring-another')}</h2>
    <${Photos} site=${site} subject=${floor} only=${['floor-plan']} />
    <${BringPlan} site=${site} floor=${floor} />
  </section>`;
}

/** The same beside the plan, for keys and for who does not see it. @param {{site: Site, read: PlansRead, chosen: string | null, onChoose?: (id: string) => void}} props */
function List({ site, read, chosen, onChoose }) {
  if (read.rooms.length + read.strays.length === 0) return null;
  return html`<section class="stack" aria-label=${say('floor-plan.list')}>
    <h2>${say('floor-plan.list')}</h2>
    ${read.strays.length > 0 && html`<p class="notice">${say('floor-plan.strays')}</p>`}
    <ul class="rows placed-list">
      ${[...read.strays, ...read.rooms].map(
        (
          room,
        ) => html`<${Line} key=${room.id} site=${site} placed=${room} chosen=${chosen} onChoose=${onChoose} />
        ${read.groups.filter((group) => group.room === room.id).map((group) => html`<${Line} key=${group.id} site=${site} placed=${group} chosen=${chosen} onChoose=${onChoose} />`)}`,
      )}
    </ul>
  </section>`;
}

/** @param {{site: Site, placed: Placeable, chosen: string | null, onChoose?: (id: string) => void}} props */
function Line({ site, placed, chosen, onChoose }) {
  const { id, record, name, where } = placed;
  const word = say(where === 'placed' ? 'floor-plan.move' : 'floor-plan.place');
  return html`<li class="placed-line ${record.type === 'group' ? 'is-group' : ''}">
    <a class="row" href=${parentPath(site, record)}>
      <span><span class="title">${name}</span><span class="detail ${SAID[where] ?? ''}">${say(`floor-plan.where-${where}`)}</span></span>
    </a>
    ${onChoose && html`<button type="button" class="button" aria-pressed=${id === chosen} aria-label=${`${word} ${name}`} onClick=${() => onChoose(id)}>${word}</button>`}
  </li>`;
}

/** Where something is to be done. @type {Partial<Record<import('./pins.js').Where, string>>} */
const SAID = { 'plan-gone': 'attention', 'other-floor': 'attention' };
