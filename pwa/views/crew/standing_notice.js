// Does what was released still hold for this fixture? The first thing on its card.

import { LOOK, STOP, SUPERSEDED, WITHDRAWN } from '../../rules/since_release/standing.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { choiceText, keptLengthText, say, timeText } from '../words.js';
import { EarlierAnswer } from './earlier_answer.js';
import { AnswerForm } from './standing_answer.js';

/** @typedef {import('../../rules/since_release/standing.js').Standing} Standing */
/** @typedef {import('../../rules/since_release/standing.js').Done} Done */
/** @typedef {import('../../rules/since_release/seen.js').Change} Change */

/** @param {{site: Site, stands: {now: Standing, done: Done | null, conversion: string, group: Standing} | null | undefined}} props */
export function StandingNotice({ site, stands }) {
  if (stands === undefined) return html`<p class="muted" role="status">${say('standing.not-judged')}</p>`;
  if (stands === null) return null;
  const { now, done, conversion, group } = stands;
  return html`${now.standing === STOP && html`<${Stopped} site=${site} stands=${now} conversion=${conversion} group=${group} />`}
    ${now.standing === WITHDRAWN && html`<${Withdrawn} stands=${now} site=${site} />`}
    ${now.standing === LOOK && html`<${LookFirst} site=${site} stands=${now} />`}
    ${done?.changed && html`<${DoneSince} site=${site} done=${done} />`}`;
}

/** @param {{site: Site, stands: Standing, conversion: string, group: Standing}} props */
function Stopped({ site, stands, conversion, group }) {
  return html`<section class="notice bad stack" aria-label=${say('crew.do-not-convert')}>
    <div role="alert"><h2>${say('standing.stop')}</h2></div>
    <${Changes} site=${site} changes=${stands.changes} />
    <p>${say('standing.stop-why', { release: stands.release })} ${say('standing.local')}</p>
    <${EarlierAnswer} site=${site} conversion=${conversion} group=${group} />
    <${AnswerForm} site=${site} conversion=${conversion} fingerprint=${stands.fingerprint} />
  </section>`;
}

/** @param {{site: Site, stands: Standing}} props */
function Withdrawn({ site, stands }) {
  const removed = stands.changes.some(({ fact }) => fact === 'removed');
  return html`<section class="notice bad stack" aria-label=${say('crew.withdrawn')}>
    <div role="alert"><h2>${say('standing.withdrawn')}</h2></div>
    <p>${removed ? say('standing.withdrawn-removed') : say('standing.withdrawn-why', { release: stands.release })}</p>
    ${!removed && html`<${Changes} site=${site} changes=${stands.changes} />`}
  </section>`;
}

/** @param {{site: Site, stands: Standing}} props */
function LookFirst({ site, stands }) {
  return html`<section class="notice stack" aria-label=${say('crew.look-first')}>
    <p class="strong">${say('standing.look')}</p>
    <${Changes} site=${site} changes=${stands.changes} />
    ${stands.answer && html`<p><span class="strong">${say('standing.answered', { answer: stands.answer.answer })}</span> <${Said} said=${stands.answer} /></p>`}
    <p class="muted">${say('standing.look-why')}</p>
  </section>`;
}

/** @param {{site: Site, done: Done}} props */
function DoneSince({ site, done }) {
  const { release, standing, changes } = done;
  return html`<section class="notice bad stack" aria-label=${say('crew.done-and-changed-since')}>
    <p class="strong">${say('standing.done-changed', { release, standing })}</p>
    ${standing === SUPERSEDED ? html`<p>${say('standing.superseded', { now: changes[0]?.now })}</p>` : html`<${Changes} site=${site} changes=${changes} />`}
    <p class="muted">${say('standing.done-changed-why')}</p>
  </section>`;
}

/** What changed, from what to what, by whom and when. @param {{site: Site, changes: Change[]}} props */
export function Changes({ site, changes }) {
  return html`<ul class="changes">
    ${changes.map(
      (
        change,
      ) => html`<li key=${`${change.fact} ${change.about ?? ''}`} class=${change.weight === STOP ? 'strong' : undefined}>
      ${changeText(site, change)} <${Said} said=${change} />
    </li>`,
    )}
  </ul>`;
}

/** @param {{said: {by?: string, at?: string}}} props */
function Said({ said: { by, at } }) {
  if (!by && !at) return null;
  const who = by ? store.personName(by) : '';
  return html`<span class="small muted">${[who, at && timeText(at)].filter(Boolean).join(', ')}</span>`;
}

/** Facts that are sentences by themselves: of some both values are ids, which nobody reads. */
const SENTENCES = ['position', 'nothing-frozen', 'removed', 'group.identity.parent', 'group.identity.kind'];
/** Facts of which only what is said now counts. */
const ONLY_NOW = [
  'conversion.withdrawn',
  'release.withdrawn',
  'item.recall',
  'partner',
  'partner-gone',
  'not-in-release',
  'questioned',
];

/** One change in a line. @param {Site} site @param {Change} change */
export function changeText(site, { fact, before, now, about = '' }) {
  if (SENTENCES.includes(fact)) return say(`standing.fact.${fact}`);
  if (fact === 'conflict') return say('standing.two-values', { what: titleOf(site, about) });
  const field = fact.split('.').at(-1) ?? '';
  const what = [titleOf(site, fact), fact.startsWith('item.') ? about : ''].filter(Boolean).join(' ');
  if (ONLY_NOW.includes(fact)) return `${what}: ${valueText(field, now)}`;
  return say('standing.change', { what, before: valueText(field, before), now: valueText(field, now) });
}

/** What a fact is called: its own sentence, else the titles of the spec. @param {Site} site @param {string} fact */
function titleOf(site, fact) {
  const code = `standing.fact.${fact}`;
  const own = say(code);
  if (own !== code) return own;
  const [record = '', facet = '', field = ''] = fact.split('.');
  const type = record === 'item' ? 'catalogue_item' : record;
  const spec = site.spec.records[type]?.facets[facet];
  const titles = [spec?.title, spec?.fields[field]?.title].filter(Boolean);
  return [...new Set(titles)].join(' · ') || fact;
}

/** @param {string} field @param {unknown} value @returns {string} */
function valueText(field, value) {
  if (value === null || value === undefined) return say('standing.nothing');
  if (Array.isArray(value))
    return value.length ? value.map((each) => valueText(field, each)).join(', ') : choiceText('none');
  if (typeof value === 'boolean') return choiceText(value ? 'yes' : 'no');
  if (typeof value === 'number' && (field.endsWith('_ticks') || field === 'ballast_space'))
    return keptLengthText(value);
  return choiceText(value);
}
