// What was released, how each of it stands, calling it back, and what differs between two releases.

import { useState } from 'preact/hooks';
import { notReleased, STOP } from '../../../rules/since_release/standing.js';
import { EarlierAnswer } from '../../crew/earlier_answer.js';
import { AnswerForm, saveFacet } from '../../crew/standing_answer.js';
import { Changes } from '../../crew/standing_notice.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { mayWrite } from '../../record_screens.js';
import { Mark, Problem } from '../../parts/parts.js';
import { choiceText, counted, say, timeText } from '../../words.js';
import { Desk, number } from '../parts.js';
import { Differences } from './differences.js';
import { readReleases } from './release_facts.js';

/** @typedef {import('./release_facts.js').Released} Released */
/** @typedef {import('./release_facts.js').InRelease} InRelease */

/** @param {{site: Site}} props */
export function Releases({ site }) {
  const releases = useLive(() => readReleases(site), [site.id]);
  const withdraws = mayWrite(site, 'release', 'withdrawn');
  return html`<${Desk} site=${site} at="/releases" title=${say('desk.releases')}>
    ${releases?.length === 0 && html`<p class="notice">${say('desk.releases-none')}</p>`}
    ${releases?.map((release, at) => html`<${Release} key=${release.id} site=${site} release=${release} first=${at === 0} withdraws=${withdraws} />`)}
    ${releases && releases.length > 0 && html`<${Differences} site=${site} releases=${releases} />`}
  <//>`;
}

/** @param {{site: Site, release: Released, first: boolean, withdraws: boolean}} props */
function Release({ site, release, first, withdraws }) {
  const [opened, setOpened] = useState(first);
  const counts = Object.entries(release.counts).map(
    ([standing, count]) => `${number(count)} ${choiceText(standing)}`,
  );
  return html`<section class="card" aria-label=${say('page.release', { number: release.number })}>
    <h2>${say('page.release', { number: release.number })} ${release.withdrawn !== null && html`<${Mark} look="attention">${say('desk.withdrawn')}<//>`}</h2>
    <p class="muted">${[timeText(release.madeAt), counted(release.groups.length, 'group'), counted(release.fixtures, 'fixture'), release.note, release.catalogue && say('catalogue.of-release', { name: release.catalogue })].filter(Boolean).join(' · ')}</p>
    ${release.withdrawn !== null && html`<p class="strong">${say('desk.release-withdrawn', { reason: release.withdrawn })}</p>`}
    <p>${counts.join(', ')}</p>
    <div class="side-by-side">
      <a class="button" href=${`/api/sites/${site.id}/order.csv?release=${release.number}`} download>${say('desk.what-it-orders-as-a')}</a>
    </div>
    <details class="points" open=${first} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
      <summary>${say('desk.group-by-group')}</summary>
      ${opened && html`<ul class="rows">${release.groups.map((each) => html`<${Group} key=${each.conversion} site=${site} each=${each} withdraws=${withdraws} />`)}</ul>`}
    </details>
    ${withdraws && release.withdrawn === null && html`<${Withdraw} site=${site} record=${release.id} type="release" what=${`release ${release.number}`} />`}
  </section>`;
}

/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOK = { 'in force': 'done', superseded: '' };

/** @param {{site: Site, each: InRelease, withdraws: boolean}} props */
function Group({ site, each, withdraws }) {
  const { stands } = each;
  const held = stands.standing === 'superseded' || stands.standing === 'withdrawn';
  return html`<li class="row-text">
    <span class="strong">${each.room} · ${each.mark} <${Mark} look=${LOOK[stands.standing] ?? 'attention'}>${choiceText(stands.standing)}<//></span>
    <span class="detail">${each.summary}</span>
    ${each.done > 0 && html`<span class="detail">${say('desk.done-under-it', { fixtures: counted(each.done, 'fixture') })}</span>`}
    ${stands.standing !== 'superseded' && stands.changes.length > 0 && html`<${Changes} site=${site} changes=${stands.changes} />`}
    ${stands.answer && html`<span class="detail">${say('standing.answered', { answer: stands.answer.answer })}</span>`}
    ${
      withdraws &&
      (stands.standing === STOP || notReleased(stands).length > 0) &&
      html`<${EarlierAnswer} site=${site} conversion=${each.conversion} group=${stands} />
      <details class="points"><summary>${say('desk.answer-what-changed')}</summary>
        <${AnswerForm} site=${site} conversion=${each.conversion} fingerprint=${stands.fingerprint} />
      </details>`
    }
    ${withdraws && !held && html`<${Withdraw} site=${site} record=${each.conversion} type="conversion" what=${say('desk.this-group')} />`}
  </li>`;
}

/** Call back, with a reason that crews read. @param {{site: Site, record: string, type: string, what: string}} props */
function Withdraw({ site, record, type, what }) {
  const [reason, setReason] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!reason.trim()) return setError({ code: 'desk.withdraw-reason' });
    try {
      await saveFacet(site, record, type, 'withdrawn', { reason: reason.trim() });
    } catch (problem) {
      setError(problem);
    }
  };
  const id = `withdraw-${record}`;
  return html`<details class="points">
    <summary>${say('desk.withdraw', { what })}</summary>
    <form class="stack" onSubmit=${save} aria-label=${say('desk.withdraw', { what })}>
      <div class="field">
        <label for=${id}>${say('page.reason')}</label>
        <textarea id=${id} class="short" rows="2" maxlength="2000" value=${reason} aria-invalid=${error ? 'true' : 'false'}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setReason(event.currentTarget.value)}></textarea>
      </div>
      <p class="muted">${say('desk.withdraw-help')}</p>
      <${Problem} error=${error} />
      <button class="button danger">${say('desk.withdraw', { what })}</button>
    </form>
  </details>`;
}
