// Which fixture is it? Room, then group, then position; a scanned code that nobody knows comes along.

import { useState } from 'preact/hooks';
import { parseCode, spaced } from '../../rules/codes.js';
import { ranges } from '../../rules/installing/punch_list.js';
import { positionsOf } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Mark, Problem } from '../parts/parts.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { groupsOf, inFloorOrder, inWalkOrder } from '../surveying/survey.js';
import { choiceText, counted, say } from '../words.js';
import { fixturePath } from '../scanning/find_label.js';
import { labelId } from '../scanning/label_id.js';
import { notReleased } from '../../rules/since_release/standing.js';
import { readStandings } from './standing_facts.js';

/** @typedef {import('../surveying/survey.js').GroupAndKind} GroupAndKind */

/** @param {{site: Site}} props */
export function ChooseFixture({ site }) {
  const [room, setRoom] = useState(/** @type {RecordView<'room'> | null} */ (null));
  const [group, setGroup] = useState(/** @type {GroupAndKind | null} */ (null));
  const { code = '' } = parseCode(new URLSearchParams(location.search).get('code') ?? '');
  const step = group
    ? html`<${Positions} site=${site} chosen=${group} code=${code} />`
    : room
      ? html`<${Groups} site=${site} room=${room} onChoose=${setGroup} />`
      : html`<${Rooms} site=${site} onChoose=${setRoom} />`;
  const back = () => (group ? setGroup(null) : setRoom(null));
  return html`<${Page} title=${say('crew.which-fixture')} over=${code && say('label.code', { code: spaced(code) })} back=${`/s/${site.id}/scan`} site=${site.id}>
    ${
      room &&
      html`<div class="side-by-side">
        <button type="button" class="button" onClick=${back}>${titleOf(group?.kind ?? room)} ✕<span class="visually-hidden"> ${say('crew.choose-another')}</span></button>
      </div>`
    }
    ${step}
  <//>`;
}

/** @param {{site: Site, onChoose: (room: RecordView<'room'>) => void}} props */
function Rooms({ site, onChoose }) {
  const [wanted, setWanted] = useState('');
  const read = useLive(async () => {
    const [floors, rooms] = await Promise.all([site.all('floor'), site.all('room')]);
    return { floors: inFloorOrder(floors), rooms: inWalkOrder(rooms) };
  }, [site.id]);
  if (!read) return null;
  const shown = read.rooms.filter((room) =>
    titleOf(room).toLowerCase().includes(wanted.trim().toLowerCase()),
  );
  return html`<div class="field">
      <label for="room-wanted">${say('page.room')}</label>
      <input id="room-wanted" value=${wanted} autocomplete="off" placeholder=${say('crew.number-or-name')} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setWanted(event.currentTarget.value)} />
    </div>
    ${read.floors.map((floor) => {
      const here = shown.filter((room) => room.parent === floor.id);
      return (
        here.length > 0 &&
        html`<section class="stack" key=${floor.id} aria-label=${titleOf(floor)}>
          <h2>${titleOf(floor)}</h2>
          <ul class="rows">
            ${here.map((room) => html`<li key=${room.id}><button type="button" class="row" onClick=${() => onChoose(room)}><span class="title">${titleOf(room)}</span></button></li>`)}
          </ul>
        </section>`
      );
    })}
    ${shown.length === 0 && html`<p class="muted">${say('crew.no-such-room')}</p>`}`;
}

/** @param {{site: Site, room: RecordView<'room'>, onChoose: (chosen: GroupAndKind) => void}} props */
function Groups({ site, room, onChoose }) {
  const groups = useLive(() => groupsOf(site, room.id), [room.id]);
  const standings = useLive(() => readStandings(site), [site.id]);
  if (!groups) return null;
  if (groups.length === 0) return html`<p class="muted">${say('crew.no-groups')}</p>`;
  return html`<ul class="rows">
    ${groups.map(
      (each) => html`<li key=${each.group.id}>
        <button type="button" class="row" onClick=${() => onChoose(each)}>
          <span><span class="title">${each.kind ? titleOf(each.kind) : say('crew.kind-not-known')}</span>
          <span class="detail">${counted(each.group.facets.count?.count ?? 0, 'fixture')} ${each.group.facets.identity?.note ?? ''}</span></span>
          ${standings && html`<${StandingMark} standing=${standings.get(each.group.id)?.standing} />`}
        </button>
      </li>`,
    )}
  </ul>`;
}

/** Whether it may be converted, where there is anything to say. @param {{standing: string | undefined}} props */
function StandingMark({ standing }) {
  if (standing === 'in force') return null;
  return html`<span class="end"><${Mark} look="attention">${choiceText(standing ?? 'not released')}<//></span>`;
}

/** @param {{site: Site, chosen: GroupAndKind, code: string}} props */
function Positions({ site, chosen, code }) {
  const standings = useLive(() => readStandings(site), [site.id]);
  const further = notReleased(standings?.get(chosen.group.id));
  const [binds, setBinding] = useState(() => new URLSearchParams(location.search).has('binds'));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const mayBind = code && mayWrite(site, 'label', 'binding');
  const binding = mayBind && binds;
  /** @param {number} position */
  const bind = async (position) => {
    try {
      await bindLabel(site, code, chosen.group.id, position);
      navigate(fixturePath(site.id, chosen.group.id, position, code));
    } catch (problem) {
      setError(problem);
    }
  };
  const positions = positionsOf(chosen.group);
  return html`<p>${say('crew.count-from-entrance')}</p>
    ${
      mayBind &&
      html`<label class="chip"><input type="checkbox" checked=${binding} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setBinding(event.currentTarget.checked)} /><span>${say('crew.this-label-is-now-on')}</span></label>`
    }
    <${Problem} error=${error} />
    ${positions.length === 0 && html`<p class="muted">${say('crew.no-count')}</p>`}
    ${further.length > 0 && html`<p class="notice bad">${say('crew.not-in-release', { fixtures: ranges(further) })}</p>`}
    <ul class="positions">
      ${positions.map((position) =>
        binding
          ? html`<li key=${position}><button type="button" class="button measure" onClick=${() => bind(position)}>${position}</button></li>`
          : html`<li key=${position}><a class="button measure" href=${fixturePath(site.id, chosen.group.id, position, code)}>${position}</a></li>`,
      )}
    </ul>`;
}

/**
 * Say which fixture a label is on; a label from a roll gets its record here.
 *
 * @param {Site} site @param {string} code @param {string} group @param {number} position
 */
async function bindLabel(site, code, group, position) {
  const record = await labelId(code);
  const known = await site.get(record);
  const about = { record, type: 'label' };
  const identity = { parent: site.id, code, origin: 'pre-printed' };
  const binding = {
    ...about,
    facet: 'binding',
    value: { group, position },
    seen: known?.seen.binding ?? null,
  };
  await site.save(
    known ? [binding] : [{ ...about, facet: 'identity', value: identity, seen: null }, binding],
  );
}
