// What the firm's closed sites tell by kind, and whether this site gives its numbers and judges with theirs; the owner's.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { mayWrite } from '../../record_screens.js';
import { choiceText, counted, lengthText, say, timeText } from '../../words.js';
import { Answer, Desk, number, Table, useServer } from '../parts.js';
import { FacetCard } from '../sites/settings.js';

const ALL = 'all';
const PER_CENT = 100;
/** What numbers are of, in the order of the table. */
const OF = ['spread', 'minutes', 'dark', 'misfit', 'breakage', 'light'];

/**
 * @typedef {{of: string, key: string, sites: number, readings: number, value: number | null, apart: number | null,
 *   degrees: number | null, readings_without: number | null, readings_with: number | null, left_out: number}} LearnRow
 * @typedef {{closed_sites: number, least_sites: number, rows: LearnRow[], gives: boolean, takes: boolean,
 *   taken_at: string | null, kinds_taken: number, is_newer: boolean}} LearntTold
 */

/** @param {{site: Site}} props */
export function Learning({ site }) {
  const [asked, setAsked] = useState(0);
  const again = () => setAsked((before) => before + 1);
  return html`<${Desk} site=${site} at="/learning" title=${say('place.learning')}>
    ${mayWrite(site, 'site', 'learning') && html`<${FacetCard} site=${site} facet="learning" onSaved=${() => site.sync().then(again)} />`}
    ${store.person?.owner ? html`<${OfClosedSites} site=${site} asked=${asked} onTaken=${again} />` : html`<p class="notice">${say('learning.owners')}</p>`}
  <//>`;
}

/** @param {{site: Site, asked: number, onTaken: () => void}} props `asked`: another number when it is to be asked for again */
function OfClosedSites({ site, asked, onTaken }) {
  const answer = /** @type {import('../parts.js').Answered<LearntTold>} */ (
    useServer(`/api/sites/${site.id}/learning`, [asked])
  );
  return html`<${Answer} answer=${answer}>${(/** @type {LearntTold} */ told) => html`
      <${Taking} site=${site} told=${told} onTaken=${onTaken} />
      <${Told} told=${told} />`}<//>`;
}

/** What this site took, and the newest. @param {{site: Site, told: LearntTold, onTaken: () => void}} props */
function Taking({ site, told, onTaken }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const take = async () => {
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/learning`, { method: 'POST' });
      await site.sync();
      onTaken();
    } catch (problem) {
      setError(problem);
    }
  };
  const { taken_at: at, kinds_taken: count, is_newer: isNewer, takes } = told;
  return html`<section class="card" aria-label=${say('learning.take')}>
    <p>${at ? say('learning.taken', { kinds: counted(count, 'kind'), time: timeText(at) }) : say('learning.taken-none')}</p>
    ${isNewer && html`<p class="notice">${say('learning.newer')}</p>`}
    ${!takes && html`<p class="small muted">${say('learning.take-first')}</p>`}
    <${Problem} error=${error} />
    <button type="button" class="button main" disabled=${!takes || !isNewer} onClick=${take}>${say('learning.take')}</button>
  </section>`;
}

/** @param {{told: LearntTold}} props */
function Told({ told }) {
  const { rows, closed_sites: count, least_sites: least } = told;
  return html`<section class="card" aria-label=${say('place.learning')}>
    <p>${say('learning.about', { least })}</p>
    <p class="strong">${count === 0 ? say('learning.none') : say('learning.sites', { count })}</p>
    ${OF.map((of) => html`<${Part} key=${of} of=${of} rows=${rows.filter((row) => row.of === of)} />`)}
  </section>`;
}

/** All rows of one thing. @param {{of: string, rows: LearnRow[]}} props */
function Part({ of, rows }) {
  if (!rows.length) return null;
  const heads = ['kind', 'sites', 'readings', 'value', of === 'spread' ? 'changes' : 'apart'];
  return html`<${Table} caption=${say(`learning.of.${of}`)} stacks numbers=${[1, 2]}
    heads=${heads.map((head) => say(`learning.head.${head}`))}
    rows=${rows.map((row) => [
      kindText(row.key),
      number(row.sites),
      number(row.readings),
      valueText(row, row.value),
      of === 'spread' ? changesText(row) : valueText(row, row.apart),
    ])} />`;
}

/** A kind by the parts of its key. @param {string} key */
const kindText = (key) =>
  key === ALL ? say('learning.whole-site') : key.split('/').map(choiceText).join(' · ');

/** @param {LearnRow} row @param {number | null} value */
function valueText({ of }, value) {
  if (value === null) return say('learning.too-few');
  if (of === 'spread') return lengthText(Math.round(value));
  if (of === 'minutes') return say('learning.value-minutes', { minutes: number(value, 1) });
  return say('learning.value-share', { pct: number(PER_CENT * value, 1) });
}

/** What the prior of a kind would change. @param {LearnRow} row */
function changesText({ degrees, readings_with: within, readings_without: alone, left_out: count }) {
  if (degrees === null) return say('learning.too-few');
  const parts = [say('learning.worth', { degrees })];
  if (within !== null && alone !== null)
    parts.push(say('learning.changes', { readings_with: within, readings_without: alone }));
  if (count) parts.push(counted(count, 'odd-site-left-out'));
  return parts.join('; ');
}
