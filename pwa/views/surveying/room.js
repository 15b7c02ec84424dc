// One room: what hangs in it, how far it is, and what the door already tells.

import { useEffect, useMemo, useState } from 'preact/hooks';
import { FacetRows } from './facet_rows.js';
import { useLive, useShown } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { once } from '../once.js';
import { NotHere, NotReadYet } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Mark, Problem } from '../parts/parts.js';
import { PhotoPrompts, Photos } from '../parts/photos.js';
import { Progress } from '../parts/progress.js';
import { PURPOSES } from '../photos/purposes.js';
import { RoomStrip } from '../parts/room_strip.js';
import { Saved } from '../parts/saved.js';
import { Window } from '../parts/window.js';
import { OnThePlan } from '../plans_of_floors/on_the_plan.js';
import { mayRead, mayWrite, titleOf } from '../record_screens.js';
import { RoomActs } from './closing.js';
import { CountHere } from './count_here.js';
import { inheritedHere, NOTHING_INHERITED } from './inherited_here.js';
import { beIn } from './last_room.js';
import { RemovalNotice } from './removal_notice.js';
import { groupsOf, inWalkOrder } from './survey.js';
import { counted, say } from '../words.js';
import { openDrafts } from './walk.js';

/** Nine nodes of the page each: with more in it at once a phone gets slow. */
const GROUPS_AT_ONCE = 150;
/** From where on the groups of a long room were seen last, by its id: who comes back from one of them finds it. @type {Map<string, number>} */
const seenFrom = new Map();
const FACETS = [
  'identity',
  'ceiling',
  'surroundings',
  'size',
  'surfaces',
  'hours',
  'work_hours',
  'layout',
  'task',
];

/** @param {{site: Site, params: {id: string}}} props */
export function Room({ site, params: { id } }) {
  const [counting, setCounting] = useState(/** @type {string | null} */ (null));
  const read = useLive(async () => {
    const { heard } = site.engine;
    const room = /** @type {RecordView<'room'> | undefined} */ (await site.get(id));
    if (!room)
      return { heard, room, floor: null, groups: [], rooms: [], inherited: NOTHING_INHERITED, photos: [] };
    const [floor, groups, rooms, inherited, photos] = await Promise.all([
      site.get(room.parent ?? ''),
      groupsOf(site, id),
      roomsBeside(site, room),
      inheritedHere(site, room),
      site.referring(id, 'photo'),
    ]);
    return { heard, room, floor, groups, rooms, inherited, photos };
  }, [id]);
  useEffect(() => beIn(site.id, id), [id]);
  // What stands above and below the groups is drawn anew only when the room is: not while somebody types a count.
  const [above, below] = useMemo(
    () =>
      read?.room
        ? [
            html`<${AboveGroups} site=${site} room=${read.room} rooms=${read.rooms} />`,
            html`<${BelowGroups} site=${site} room=${read.room} groups=${read.groups} inherited=${read.inherited} photos=${read.photos} />`,
          ]
        : [],
    [read],
  );
  if (!read) return html`<${NotReadYet} site=${site} />`;
  const { room, floor, groups, rooms } = read;
  const back = `/s/${site.id}`;
  if (!room)
    return html`<${Page} title=${say('page.room')} back=${back} site=${site.id}><${NotHere} site=${site} heard=${read.heard} /><//>`;
  return html`<${Page} title=${titleOf(room)} over=${floor ? titleOf(floor) : say('page.room')} back=${back} site=${site.id} look="beside"
    act=${
      counting === null &&
      !room.removed &&
      mayWrite(site, 'group') &&
      html`<${RoomActs} key=${id} site=${site} room=${room} beside=${rooms} add=${html`<a class="button main" href=${`/s/${site.id}/room/${id}/add`}>${say('survey.add-a-group')}</a>`} />`
    }>
    ${above}
    <${Groups} site=${site} room=${room} groups=${groups} rooms=${rooms} counting=${counting} onCounting=${setCounting} />
    ${below}
  <//>`;
}

/** @param {{site: Site, room: RecordView<'room'>, rooms: RecordView<'room'>[]}} props */
function AboveGroups({ site, room, rooms }) {
  return html`<${RoomStrip} site=${site} room=${room} rooms=${rooms} />
    ${room.removed && html`<${Removed} site=${site} room=${room} />`}
    ${room.conflicts.length > 0 && html`<a class="notice bad" href=${`/s/${site.id}/conflicts`}>${say('survey.two-people-entered-different-things')}</a>`}`;
}

/** @param {{site: Site, room: RecordView<'room'>, groups: GroupAndKind[], inherited: import('./inherited_here.js').Inherited, photos: RecordView<'photo'>[]}} props */
function BelowGroups({ site, room, groups, inherited, photos }) {
  const { id } = room;
  const isShown = useShown();
  if (!isShown) return null;
  return html`${mayWrite(site, 'room', 'progress') && html`<${Progress} site=${site} room=${room} />`}
    <section class="stack" aria-label=${say('survey.about-the-room')}>
      <h2>${say('survey.about-the-room')}</h2>
      <${FacetRows} site=${site} record=${room} facets=${FACETS} inherited=${inherited} />
    </section>
    <section class="stack" aria-label=${say('survey.photos-of-the-room')}>
      <${Photos} site=${site} subject=${id} first=${photos} />
      <${PhotoPrompts} site=${site} subject=${id} purposes=${PURPOSES.room} fromPhone=${true} first=${photos} />
    </section>
    <${OnThePlan} site=${site} floor=${room.parent} id=${id} />
    ${mayRead(site, 'lux_reading') && html`<a class="button plain" href=${`/s/${site.id}/light/${id}`}>${say('light.title')}</a>`}
    ${mayRead(site, 'cavity_reading') && html`<a class="button plain" href=${`/s/${site.id}/open-points?room=${id}`}>${say('survey.what-is-still-open-here')}</a>`}
    ${!room.removed && mayWrite(site, 'room') && html`<${RemoveRoom} site=${site} room=${room} groups=${groups.map(({ group }) => group)} />`}`;
}

/** The rooms of the same floor, as one walks. @param {Site} site @param {RecordView<'room'>} room @returns {Promise<RecordView<'room'>[]>} */
const roomsBeside = async (site, room) =>
  inWalkOrder(room.parent ? await site.children(room.parent, 'room') : []);

/** @typedef {import('./survey.js').GroupAndKind} GroupAndKind */

/** @param {{site: Site, room: RecordView<'room'>, groups: GroupAndKind[], rooms: RecordView<'room'>[], counting: string | null, onCounting: (group: string | null) => void}} props `counting`: the group whose count is being corrected */
function Groups({ site, room, groups, rooms, counting, onCounting }) {
  const [told, setTold] = useState(/** @type {{said: string, gone?: string, saves: number} | null} */ (null));
  /** Told anew, though it be in the same words. @param {{said: string, gone?: string}} what */
  const tell = (what) => setTold((before) => ({ ...what, saves: (before?.saves ?? 0) + 1 }));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [, setMoved] = useState({});
  const from = seenFrom.get(room.id) ?? 0;
  const start = from < groups.length ? from : 0;
  const show = (/** @type {number} */ at) => {
    seenFrom.set(room.id, at);
    setMoved({});
  };
  const may = mayWrite(site, 'group');
  const last = groups.at(-1);
  /** @param {Draft[]} drafts @param {string} said */
  const make = async (drafts, said) => {
    try {
      await site.save([...drafts, ...openDrafts(room)]);
      tell({ said });
      // What is new stands last.
      show(groups.length - (groups.length % GROUPS_AT_ONCE));
    } catch (problem) {
      setError(problem);
    }
  };
  const again = () =>
    last &&
    make(
      copyOf(site, room.id, last.group),
      say('survey.another-group-made', { title: titleOf(last.kind ?? last.group) }),
    );
  return html`<section class="stack" aria-label=${say('survey.fixture-groups')}>
    <h2>${say('survey.fixtures')}</h2>
    ${
      groups.length > 0 &&
      html`<ul class="rows groups">
        ${groups.slice(start, start + GROUPS_AT_ONCE).map(
          ({
            group,
            kind,
          }) => html`<${GroupRow} key=${group.id} site=${site} group=${group} kind=${kind} open=${counting === group.id}
            onCount=${may ? () => onCounting(counting === group.id ? null : group.id) : null}
            onClose=${() => onCounting(null)}
            onSaved=${(/** @type {string} */ said, /** @type {boolean} */ fewer) => {
              onCounting(null);
              tell({ said, gone: fewer ? group.id : undefined });
            }} />`,
        )}
      </ul>
      <${Window} total=${groups.length} from=${start} size=${GROUPS_AT_ONCE} onFrom=${show} />`
    }
    ${
      told &&
      html`<${Saved} site=${site} key=${told.saves} onUndone=${() => setTold({ said: told.said, saves: told.saves })}>${told.said}<//>
      ${told.gone && html`<a class="button wide" href=${`/s/${site.id}/record/${told.gone}/count`}>${say('survey.which-are-gone')}</a>`}`
    }
    <${Problem} error=${error} />
    ${may && last && html`<button class="button wide" onClick=${once(again)}>${say('survey.duplicate-the-last-group')}</button>`}
    ${may && groups.length === 0 && !room.removed && html`<${SameAsBefore} site=${site} room=${room} rooms=${rooms} onMake=${make} />`}
  </section>`;
}

/**
 * @param {object} props
 * @param {Site} props.site
 * @param {RecordView<'group'>} props.group
 * @param {RecordView<'kind'> | undefined} props.kind
 * @param {boolean} props.open its count is being corrected
 * @param {(() => void) | null} props.onCount
 * @param {() => void} props.onClose
 * @param {(said: string, fewer: boolean) => void} props.onSaved
 */
function GroupRow({ site, group, kind, open, onCount, onClose, onSaved }) {
  const title = kind ? titleOf(kind) : say('survey.a-kind-that-is-not');
  const { count } = group.facets.count ?? {};
  return html`<li>
    <div class="group-row">
      <a class="row" href=${`/s/${site.id}/group/${group.id}`}>
        <span><span class="title">${title}</span><span class="detail">${groupText(group)}</span></span>
        <span class="end"><${GroupMarks} group=${group} /></span>
      </a>
      ${onCount && html`<button type="button" class="button plain count measure" aria-expanded=${open} onClick=${onCount}>× ${count ?? '?'}<span class="visually-hidden"> ${say('survey.correct-the-count', { title })}</span></button>`}
    </div>
    ${open && html`<${CountHere} site=${site} of=${{ group, title }} onSaved=${onSaved} onClose=${onClose} />`}
  </li>`;
}

/**
 * A room like the one before it, in one tap: kinds and counts as there, nothing that was found of a fixture.
 *
 * @param {{site: Site, room: RecordView<'room'>, rooms: RecordView<'room'>[], onMake: (drafts: Draft[], said: string) => void}} props
 */
function SameAsBefore({ site, room, rooms, onMake }) {
  const read = useLive(async () => {
    const before = rooms[rooms.findIndex(({ id }) => id === room.id) - 1];
    return before ? { before, groups: await groupsOf(site, before.id) } : null;
  }, [room.id, rooms.length]);
  if (!read || read.groups.length === 0) return null;
  const { before, groups } = read;
  const what = groups.map(({ group, kind }) =>
    [kind?.facets.identity?.mark ?? '?', group.facets.count?.count ?? '?'].join(' × '),
  );
  const like = { room: titleOf(before), what };
  const make = () =>
    onMake(
      groups.flatMap(({ group }) => copyOf(site, room.id, group, ['identity', 'count'])),
      say('survey.made-like', like),
    );
  return html`<button class="button wide" onClick=${once(make)}>${say('survey.same-as-room', like)}</button>`;
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

/** Drafts of a group like another, in a room; what was found of one fixture is not copied. @param {Site} site @param {string} room @param {RecordView<'group'>} group @param {string[]} [wanted] facets @returns {Draft[]} */
function copyOf(site, room, group, wanted = ['identity', 'count', 'supply', 'duty']) {
  const record = site.newId();
  const facets = /** @type {Record<string, Value>} */ (group.facets);
  return wanted
    .filter((facet) => facets[facet])
    .map((facet) => {
      const {
        gone: _gone,
        dark_lamps: _dark,
        sure: _sure,
        emergency_positions: _positions,
        ...value
      } = facets[facet];
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
    ${mayWrite(site, 'room') && html`<button class="button" onClick=${() => site.restore(room.id)}>${say('page.bring-it-back')}</button>`}
  </div>`;
}

/** @param {{site: Site, room: RecordView<'room'>, groups: RecordView<'group'>[]}} props */
function RemoveRoom({ site, room, groups }) {
  const remove = async () => {
    await site.remove(room.id);
    navigate(`/s/${site.id}/removed/${room.id}`, { replace: true });
  };
  const what =
    groups.length > 0
      ? say('survey.remove-this-room-and-its', { groups: counted(groups.length, 'group') })
      : say('survey.remove-this-room');
  return html`<${RemovalNotice} site=${site} groups=${groups} />
    <button class="button plain danger" onClick=${remove}>${what}</button>`;
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
