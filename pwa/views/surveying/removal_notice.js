// What whoever removes a group or room is told before: work that was done in it, labels that hang on it, and what of it stays.

import { notedIn } from '../../rules/installing/noted.js';
import { newestOf } from '../../rules/since_release/standing.js';
import { has, Survey } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { counted, say } from '../words.js';

/** @typedef {{done: number, labels: number, released: number}} WorkIn */

/** @param {Site} site @param {RecordView<'group'>[]} groups @returns {Promise<WorkIn>} */
export async function workIn(site, groups) {
  const each = await Promise.all(groups.map((group) => workInGroup(site, group)));
  const sum = (/** @type {keyof WorkIn} */ name) => each.reduce((all, told) => all + told[name], 0);
  return { done: sum('done'), labels: sum('labels'), released: sum('released') };
}

/** @param {Site} site @param {RecordView<'group'>} group @returns {Promise<WorkIn>} */
async function workInGroup(site, group) {
  const [installations, conversions, labels] = await Promise.all([
    site.children(group.id, 'installation'),
    site.children(group.id, 'conversion'),
    site.referring(group.id, 'label'),
  ]);
  const survey = new Survey(/** @type {ViewRecord[]} */ ([group, ...installations, ...conversions]));
  const noted = [...notedIn(survey, group, newestOf(survey, group)).values()];
  return {
    done: noted.filter(({ done }) => done).length,
    labels: labels.filter((label) => !has(label, 'voided')).length,
    released: conversions.length > 0 ? 1 : 0,
  };
}

/** @param {{site: Site, groups: RecordView<'group'>[]}} props */
export function RemovalNotice({ site, groups }) {
  const told = useLive(() => workIn(site, groups), [site.id, groups.map(({ id }) => id).join(' ')]);
  if (!told || told.done + told.labels + told.released === 0) return null;
  const { done, labels, released } = told;
  return html`<div class="notice stack">
    ${done > 0 && html`<p>${say('survey.removing-done', { fixtures: counted(done, 'fixture') })}</p>`}
    ${done === 0 && released > 0 && html`<p>${say('survey.removing-released')}</p>`}
    ${labels > 0 && html`<p>${say('survey.removing-labels', { labels: counted(labels, 'label') })}</p>`}
  </div>`;
}
