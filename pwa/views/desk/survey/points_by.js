// What is open, grouped by floor, room, kind, who can close it or who has it; each group a page at a time, so that a large site fits.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { useMedia, WIDE } from '../../parts/bar.js';
import { OpenPoint } from '../../parts/open_point.js';
import { choiceText, counted, say } from '../../words.js';
import { Answer, useServer, Window } from '../parts.js';

/** @typedef {{id: string, name: string, points: number}} PointsIn */
/** @typedef {{head: number, by: string, points: number, person: string, groups: PointsIn[]}} PointsBy */
/** @typedef {{head: number, found: number, points: import('../../../rules/points/open_points.js').OpenPoint[], persons: string[], next: number | null}} PointsPage */
/** @typedef {{by: string, role: string, person: string}} Asked what stands in the address */

const BY = ['floor', 'room', 'kind', 'who', 'person'];
const NONE = 'none';
const ROLES = ['surveyor', 'manager', 'owner', 'crew'];
/** Up to so many points all groups stand open at once; of more one at a time. */
const OPEN_AT_ONCE = 200;
const POINTS_OF_A_PAGE = 50;
const GROUPS_AT_ONCE = 200;

/** @returns {Asked} */
function asked() {
  const query = new URLSearchParams(location.search);
  const [by, role] = [query.get('by') ?? '', query.get('role') ?? ''];
  return {
    by: BY.includes(by) ? by : 'floor',
    role: ROLES.includes(role) ? role : '',
    person: query.get('person') ?? '',
  };
}

/** The address that asks so. @param {Asked} wanted */
function addressOf({ by, role, person }) {
  const query = new URLSearchParams({
    ...(by !== 'floor' && { by }),
    ...(role && { role }),
    ...(person && { person }),
  }).toString();
  return `${location.pathname}${query && `?${query}`}`;
}

/** @param {{site: Site, turn: unknown}} props `turn`: another one when something has changed */
export function PointsBy({ site, turn }) {
  const [wanted, setWanted] = useState(asked);
  const { by, role, person } = wanted;
  const ask = (/** @type {Partial<Asked>} */ changed) => {
    history.replaceState(history.state, '', addressOf({ ...wanted, ...changed }));
    setWanted({ ...wanted, ...changed });
    setFrom(0);
  };
  const [from, setFrom] = useState(0);
  const wide = useMedia(WIDE);
  const query = new URLSearchParams({ by, ...(role && { role }), ...(person && { person }) }).toString();
  const answer = useServer(`/api/sites/${site.id}/open-points?${query}`, [turn]);
  return html`<h2>${say('desk.open-points')}</h2>
    <div class="points-by">
      <${Choice} label=${say('points.by')} value=${by} choices=${BY.map((each) => [each, say(`points.by-${each}`)])} onChange=${(/** @type {string} */ value) => ask({ by: value })} />
      <${Choice} label=${say('points.for')} value=${role} choices=${[['', say('points.for-all')], ...ROLES.map((each) => [each, choiceText(each)])]} onChange=${(/** @type {string} */ value) => ask({ role: value })} />
    </div>
    <${Answer} answer=${answer}>${(/** @type {PointsBy} */ told) =>
      html`${person && html`<p class="notice">${person === NONE ? say('points.only-nobodys') : say('points.only-of', { person: told.person })} <button type="button" class="button" onClick=${() => ask({ person: '' })}>${say('points.everybodys')}</button></p>`}
      ${
        told.groups.length === 0
          ? html`<p>${say(noneOf(wanted), { role: choiceText(role) })}</p>`
          : html`<section class="stack" aria-label=${say('desk.open-points')}>${told.groups
              .slice(from, from + GROUPS_AT_ONCE)
              .map(
                (group, place) =>
                  html`<${Group} key=${`${query} ${group.id}`} site=${site} query=${query} head=${told.head} group=${group} title=${titleOf(told.by, group)} alone=${told.points > OPEN_AT_ONCE} first=${isOpen(told, place, wide)} onOnly=${told.by === 'person' && !person && (() => ask({ person: group.id, by: 'floor' }))} />`,
              )}
          <${Window} total=${told.groups.length} from=${from} size=${GROUPS_AT_ONCE} onFrom=${setFrom} /></section>`
      }`}<//>`;
}

/** Whether a group stands open at first: on a phone only one that is alone. @param {PointsBy} told @param {number} place @param {boolean} wide */
const isOpen = ({ groups, points }, place, wide) =>
  wide ? place === 0 || points <= OPEN_AT_ONCE : groups.length === 1;

/** What to say where nothing is open. @param {Asked} asked */
function noneOf({ role, person }) {
  if (person) return 'points.none-of';
  return role ? 'points.none-for' : 'desk.no-points';
}

/** @param {{label: string, value: string, choices: string[][], onChange: (value: string) => void}} props */
function Choice({ label, value, choices, onChange }) {
  return html`<label class="field"><span class="label">${label}</span>
    <select class="input" value=${value} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChange(event.currentTarget.value)}>
      ${choices.map(([id, text]) => html`<option key=${id} value=${id} selected=${id === value}>${text}</option>`)}
    </select></label>`;
}

/** @param {string} by @param {PointsIn} group */
function titleOf(by, { id, name }) {
  if (id === NONE && by === 'person') return say('points.nobody');
  if (id === NONE) return say(by === 'kind' ? 'points.no-kind' : 'page.the-whole-site');
  if (by === 'who') return choiceText(id);
  return name || say('desk.room-without-a-name');
}

/** @param {{site: Site, query: string, head: number, group: PointsIn, title: string, alone: boolean, first: boolean, onOnly: false | (() => void)}} props `alone`: it shuts when another is opened; `onOnly`: shows these alone, by floor */
function Group({ site, query, head, group, title, alone, first, onOnly }) {
  const [opened, setOpened] = useState(first);
  return html`<details class="points fold" name=${alone ? 'points' : undefined} open=${opened} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${title}: ${counted(group.points, 'open-point')}</summary>
    ${opened && onOnly && html`<button type="button" class="button" onClick=${onOnly}>${say('points.only-these')}</button>`}
    ${(opened || !alone) && html`<${Pages} site=${site} path=${`/api/sites/${site.id}/open-points/of?${query}&value=${encodeURIComponent(group.id)}`} total=${group.points} turn=${`${head} ${group.points}`} />`}
  </details>`;
}

/** One page of the points; it is asked for again when something has changed. @param {{site: Site, path: string, total: number, turn: string}} props */
function Pages({ site, path, total, turn }) {
  const [from, setFrom] = useState(0);
  const at = from < total ? from : 0;
  const answer = /** @type {import('../parts.js').Answered<PointsPage>} */ (
    useServer(`${path}&from=${at}`, [turn])
  );
  return html`<${Answer} answer=${answer}>${(/** @type {PointsPage} */ told) => html`
    <ul class="rows">${told.points.map((point, place) => html`<${OpenPoint} key=${`${point.rule} ${point.record}`} site=${site} point=${point} person=${told.persons[place]} />`)}</ul>
    <${Window} total=${told.found} from=${(told.next ?? told.found) - told.points.length} size=${POINTS_OF_A_PAGE} onFrom=${setFrom} />`}<//>`;
}
