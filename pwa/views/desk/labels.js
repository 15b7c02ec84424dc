// Codes for fixtures, sheets of labels for the printer, and the walk as a table.

import { useState } from 'preact/hooks';
import { facet, has } from '../../rules/survey.js';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { counted, say } from '../words.js';
import { Desk } from './parts.js';

/** Sheets, and how many labels are on one; the server says so too. @type {Array<[string, string, number]>} */
const PAPERS = [
  ['a4', 'desk.paper.a4', 24],
  ['letter', 'desk.paper.letter', 30],
];

/** @param {{site: Site}} props */
export function Labels({ site }) {
  const [floor, setFloor] = useState('');
  const floors = useLive(() => site.all('floor'), [site.id]) ?? [];
  const labels = useLive(() => site.all('label'), [site.id]) ?? [];
  const printable = useLive(() => labelsOn(site, floor), [site.id, floor]);
  const prints = ['manager', 'owner'].includes(site.role);
  return html`<${Desk} site=${site} at="/labels" title=${say('desk.labels-and-lists')}>
    <section class="card" aria-label=${say('desk.labels-title')}>
      <p>${say('desk.labels', { labels: counted(labels.length, 'fixture') })}</p>
      <div class="field"><label for="floor">${say('desk.for')}</label>
        <select id="floor" value=${floor} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setFloor(event.currentTarget.value)}>
          <option value="">${say('desk.the-whole-site')}</option>
          ${floors.map((each) => html`<option value=${each.id}>${each.facets.identity?.name}</option>`)}
        </select></div>
      ${prints && html`<${MakeCodes} site=${site} floor=${floor} />`}
      <${Print} site=${site} floor=${floor} none=${printable !== undefined && printable === 0} />
    </section>
    <section class="card" aria-label=${say('desk.lists')}>
      <p>${say('desk.walk')}</p>
      <a class="button main" href=${`/api/sites/${site.id}/walk.csv`} download>${say('desk.the-walk-as-a-table')}</a>
    </section>
  <//>`;
}

/** @param {{site: Site, floor: string}} props */
function MakeCodes({ site, floor }) {
  const [made, setMade] = useState(/** @type {number | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const make = async () => {
    setBusy(true);
    setError(null);
    try {
      const told = /** @type {{made: number}} */ (
        await askServer(`/api/sites/${site.id}/labels`, { method: 'POST', body: floor ? { floor } : {} })
      );
      setMade(told.made);
      store.syncNow();
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return html`<button type="button" class="button main" disabled=${busy} onClick=${make}>${say('desk.make-codes-for-fixtures-that')}</button>
    ${made !== null && html`<p role="status" class="strong">${made ? say('desk.made', { made: counted(made, 'code') }) : say('desk.none-made')}</p>`}
    <${Problem} error=${error} />`;
}

/** How many fixtures of a floor, or of the site, have a label. @param {Site} site @param {string} floor @returns {Promise<number>} */
async function labelsOn(site, floor) {
  const bound = (await site.all('label')).filter((label) => has(label, 'binding') && !has(label, 'voided'));
  if (!floor) return bound.length;
  const rooms = new Set((await site.children(floor, 'room')).map((room) => room.id));
  const groups = (await site.all('group')).filter((group) => rooms.has(group.parent ?? ''));
  const here = new Set(groups.map((group) => group.id));
  return bound.filter((label) => here.has(facet(label, 'binding').group ?? '')).length;
}

/** @param {{site: Site, floor: string, none: boolean}} props */
function Print({ site, floor, none }) {
  const [paper, setPaper] = useState('a4');
  const [start, setStart] = useState('1');
  const places = PAPERS.find(([name]) => name === paper)?.[2] ?? 1;
  const wrong = !/^\d+$/.test(start) || Number(start) < 1 || Number(start) > places;
  const asked = new URLSearchParams({ paper, start, ...(floor && { floor }) });
  return html`<div class="side-by-side">
      <div class="field"><label for="paper">${say('desk.paper')}</label>
        <select id="paper" value=${paper} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setPaper(event.currentTarget.value)}>
          ${PAPERS.map(([name, title]) => html`<option value=${name}>${say(title)}</option>`)}
        </select></div>
      <div class="field"><label for="start">${say('desk.first-free-place-on-the')}</label>
        <input id="start" inputmode="numeric" value=${start} aria-invalid=${wrong ? 'true' : 'false'} aria-describedby="start-problem"
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setStart(event.currentTarget.value.trim())} /></div>
    </div>
    <p id="start-problem" class="problem" role="alert" hidden=${!wrong}>${say('label-start-wrong', { value: start, right: places })}</p>
    ${none && html`<p class="muted">${say('no-labels')}</p>`}
    <a class="button main" aria-disabled=${wrong || none ? 'true' : undefined} href=${wrong || none ? undefined : `/api/sites/${site.id}/labels.pdf?${asked}`} target="_blank" rel="noopener">${say('desk.print-labels-pdf')}</a>`;
}
