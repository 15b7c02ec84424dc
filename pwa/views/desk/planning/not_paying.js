// What costs the job more than it saves: how much of it nobody has decided on, what the job gains without it, and the two ways on.

import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { counted, say } from '../../words.js';
import { againInMs } from '../being_planned.js';
import { amount, number, Table, useServer } from '../parts.js';

/** Where it is asked. @param {Site} site */
export const notPayingPath = (site) => `/api/sites/${site.id}/best-order/not-paying`;

/** The choice by rule that begins with these groups. @param {Site} site @param {'leave' | 'recommended'} what */
const choiceOf = (site, what) => `/s/${site.id}/desk/plan/order?what=${what}&pays=not-paying`;

/** @param {GroupNotPaying[]} groups */
const fixturesOf = (groups) => groups.reduce((sum, { fixtures }) => sum + fixtures, 0);

/** How much it is, to be read in a sentence. @param {GroupNotPaying[]} groups */
const howMuch = (groups) => ({
  groups: counted(groups.length, 'group'),
  fixtures: counted(fixturesOf(groups), 'fixture'),
});

/** What the job gains, or loses, by leaving them. @param {NotPayingTold} told */
function gainText({ gain, currency }) {
  if (gain === null) return say('not-paying.gain-unknown');
  if (gain < 0) return say('not-paying.costs', { more: amount(-gain, currency) });
  return say('not-paying.gain', { gain: amount(gain, currency) });
}

/** By kind: groups, fixtures and their part of the job's value. @param {GroupNotPaying[]} groups */
export function byKind(groups) {
  /** @type {Map<string, GroupNotPaying[]>} */
  const kinds = new Map();
  for (const group of groups) kinds.set(group.mark, [...(kinds.get(group.mark) ?? []), group]);
  return [...kinds].map(([mark, of]) => ({
    mark,
    groups: of.length,
    fixtures: fixturesOf(of),
    share: of.reduce((sum, { npv_share }) => sum + npv_share, 0),
  }));
}

/** @param {{site: Site, turn: unknown}} props `turn`: another one when the plan is another */
export function NotPaying({ site, turn }) {
  const { told, error } = /** @type {import('../parts.js').Answered<NotPayingTold>} */ (
    useServer(notPayingPath(site), [turn])
  );
  if (!told) return error && !againInMs(error) ? html`<${Problem} error=${error} />` : null;
  const { groups, kept, currency } = told;
  if (groups.length + kept.length === 0) return null;
  return html`<section class="card" aria-label=${say('not-paying.title')}>
    <h2>${say('not-paying.title')}</h2>
    ${
      groups.length > 0 &&
      html`<p class="strong">${say('not-paying.open', howMuch(groups))}</p>
      <p class="strong">${gainText(told)}</p>
      <p class="muted">${say('not-paying.until-decided')}</p>
      <div class="side-by-side">
        <a class="button" href=${choiceOf(site, 'leave')}>${say('not-paying.leave')}</a>
        <a class="button" href=${choiceOf(site, 'recommended')}>${say('not-paying.keep')}</a>
      </div>
      <${ByKind} groups=${groups} currency=${currency} />`
    }
    ${kept.length > 0 && html`<p>${say('not-paying.kept', howMuch(kept))}</p>`}
  </section>`;
}

/** @param {{groups: GroupNotPaying[], currency: string}} props */
function ByKind({ groups, currency }) {
  const heads = ['kind', 'groups', 'fixtures', 'share'].map((head) => say(`not-paying.head-${head}`));
  return html`<details><summary>${say('not-paying.by-kind')}</summary>
    <${Table} stacks caption=${say('not-paying.by-kind')} numbers=${[1, 2, 3]} heads=${heads}
      rows=${byKind(groups).map(({ mark, groups: of, fixtures, share }) => [mark, number(of), number(fixtures), amount(share, currency)])} />
    <p class="muted">${say('not-paying.share-about')}</p>
  </details>`;
}

/** Of one group, before one decides on it. @param {{group: GroupInShort, currency: string}} props */
export function GroupDoesNotPay({ group, currency }) {
  if (!doesNotPay(group)) return null;
  return html`<p class="notice">${say('not-paying.group', { more: amount(-(group.npv_share ?? 0), currency) })}</p>`;
}

/** @param {GroupInShort} group */
export const doesNotPay = ({ npv_share: share }) => share != null && share < 0;
