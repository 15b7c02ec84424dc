// What is open, grouped by floor, room, kind or who can close it; each group a page at a time, so that a large site fits.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { html } from '../html.js';
import { OpenPoint } from '../parts/open_point.js';
import { Problem } from '../parts/parts.js';
import { choiceText, counted, say } from '../words.js';
import { Answer, useServer } from './parts.js';

/** @typedef {{id: string, name: string, points: number}} PointsIn */
/** @typedef {{head: number, points: number, groups: PointsIn[]}} PointsBy */
/** @typedef {{head: number, found: number, points: import('../../rules/open_points.js').OpenPoint[], next: number | null}} PointsPage */
/** @typedef {{by: string, role: string}} Asked what stands in the address */

const BY = ['floor', 'room', 'kind', 'who'];
const ROLES = ['surveyor', 'manager', 'owner', 'crew'];
/** Up to so many points all groups stand open at once. */
const OPEN_AT_ONCE = 200;

/** @returns {Asked} */
function asked() {
  const query = new URLSearchParams(location.search);
  const [by, role] = [query.get('by') ?? '', query.get('role') ?? ''];
  return { by: BY.includes(by) ? by : 'floor', role: ROLES.includes(role) ? role : '' };
}

/** The address that asks so. @param {Asked} wanted */
function addressOf({ by, role }) {
  const query = new URLSearchParams({ ...(by !== 'floor' && { by }), ...(role && { role }) }).toString();
  return `${location.pathname}${query && `?${query}`}`;
}

/** @param {{site: Site, turn: unknown}} props `turn`: another one when something has changed */
export function PointsBy({ site, turn }) {
  const [wanted, setWanted] = useState(asked);
  const { by, role } = wanted;
  const ask = (/** @type {Partial<Asked>} */ changed) => {
    history.replaceState(history.state, '', addressOf({ ...wanted, ...changed }));
    setWanted({ ...wanted, ...changed });
  };
  const query = new URLSearchParams({ by, ...(role && { role }) }).toString();
  const answer = useServer(`/api/sites/${site.id}/open-points?${query}`, [turn]);
  return html`<h2>${say('desk.open-points')}</h2>
    <div class="points-by">
      <${Choice} label=${say('points.by')} value=${by} choices=${BY.map((each) => [each, say(`points.by-${each}`)])} onChange=${(/** @type {string} */ value) => ask({ by: value })} />
      <${Choice} label=${say('points.for')} value=${role} choices=${[['', say('points.for-all')], ...ROLES.map((each) => [each, choiceText(each)])]} onChange=${(/** @type {string} */ value) => ask({ role: value })} />
    </div>
    <${Answer} answer=${answer}>${(/** @type {PointsBy} */ told) =>
      told.groups.length === 0
        ? html`<p>${say(role ? 'points.none-for' : 'desk.no-points', { role: choiceText(role) })}</p>`
        : told.groups.map(
            (group, place) =>
              html`<${Group} key=${`${query} ${group.id}`} site=${site} query=${query} head=${told.head} group=${group} title=${titleOf(by, group)} first=${place === 0 || told.points <= OPEN_AT_ONCE} />`,
          )}<//>`;
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
  if (id === 'none') return say(by === 'kind' ? 'points.no-kind' : 'page.the-whole-site');
  if (by === 'who') return choiceText(id);
  return name || say('desk.room-without-a-name');
}

/** @param {{site: Site, query: string, head: number, group: PointsIn, title: string, first: boolean}} props */
function Group({ site, query, head, group, title, first }) {
  const [opened, setOpened] = useState(first);
  return html`<details class="points" open=${opened} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${title}: ${counted(group.points, 'open-point')}</summary>
    ${opened && html`<${Pages} site=${site} path=${`/api/sites/${site.id}/open-points/of?${query}&value=${encodeURIComponent(group.id)}`} turn=${`${head} ${group.points}`} />`}
  </details>`;
}

/** Points a page at a time; all pages in view are asked for again when something has changed. @param {{site: Site, path: string, turn: string}} props */
function Pages({ site, path, turn }) {
  const [pages, setPages] = useState(1);
  const [held, setHeld] = useState(
    /** @type {{points: PointsPage['points'], left: number, error: unknown}} */ ({
      points: [],
      left: 0,
      error: null,
    }),
  );
  useEffect(() => {
    const gone = new AbortController();
    pagesOf(path, pages, gone.signal).then(setHeld, (error) => {
      if (!gone.signal.aborted) setHeld((before) => ({ ...before, error }));
    });
    return () => gone.abort();
  }, [path, pages, turn]);
  return html`<${Problem} error=${held.error} />
    ${held.points.length === 0 && !held.error && html`<p role="status">${say('desk.asking-the-server')}</p>`}
    <ul class="rows">${held.points.map((point) => html`<${OpenPoint} key=${`${point.rule} ${point.record}`} site=${site} point=${point} />`)}</ul>
    ${held.left > 0 && html`<button type="button" class="button" onClick=${() => setPages(pages + 1)}>${say('page.show-more-left', { left: held.left })}</button>`}`;
}

/** @param {string} path @param {number} most @param {AbortSignal} signal */
async function pagesOf(path, most, signal) {
  /** @type {PointsPage['points']} */
  const points = [];
  let found = 0;
  for (let page = 0, from = /** @type {number | null} */ (0); page < most && from !== null; page++) {
    /** @type {PointsPage} */
    const told = await askServer(`${path}&from=${from}`, { signal });
    points.push(...told.points);
    found = told.found;
    from = told.next;
  }
  return { points, left: found - points.length, error: null };
}
