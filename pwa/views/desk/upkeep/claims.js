// Claims of a building: each failure that was reported, how its claim stands, the letter, and its steps.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { ClaimSteps } from '../../parts/claim_steps.js';
import { inLanguage, OWN, PaperLanguage } from '../../parts/paper_language.js';
import { Mark } from '../../parts/parts.js';
import { choiceText, say } from '../../words.js';
import { Answer, Desk, useServer } from '../parts.js';

/** @typedef {{group: string, position: number, floor_name: string, room_name: string, mark: string, state: string, since: string, open: boolean, failure: {id: string, on: string, sign: string, item: string, serials: string}}} ClaimTold */

/** @param {{site: Site}} props */
export function Claims({ site }) {
  const answer = /** @type {import('../parts.js').Answered<{claims: ClaimTold[]}>} */ (
    useServer(`/api/sites/${site.id}/claims`, [])
  );
  return html`<${Desk} site=${site} at="/claims" title=${say('memory.claims.title')}>
    <p>${say('memory.claims.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {{claims: ClaimTold[]}} */ { claims }) => html`<${Listed} site=${site} claims=${claims} />`}<//>
  <//>`;
}

/** @param {{site: Site, claims: ClaimTold[]}} props */
function Listed({ site, claims }) {
  const [language, setLanguage] = useState(OWN);
  if (claims.length === 0) return html`<p class="notice">${say('memory.claims.none')}</p>`;
  const [open, closed] = [claims.filter((each) => each.open), claims.filter((each) => !each.open)];
  return html`<p class="strong">${say('memory.claims.open', { count: open.length })}</p>
    <a class="button" href=${`/api/sites/${site.id}/claims.csv`} download>${say('memory.claims.csv')}</a>
    <${PaperLanguage} id="letter-language" value=${language} onChange=${setLanguage} />
    ${open.map((each) => html`<${Claim} key=${each.failure.id} site=${site} claim=${each} language=${language} />`)}
    ${
      closed.length > 0 &&
      html`<details><summary class="turn">${say('memory.claims.closed', { count: closed.length })}</summary>
      ${closed.map((each) => html`<${Claim} key=${each.failure.id} site=${site} claim=${each} language=${language} />`)}</details>`
    }`;
}

/** @param {{site: Site, claim: ClaimTold, language: string}} props `language`: of its letter */
function Claim({ site, claim, language }) {
  const { failure, group, position } = claim;
  const fixture = say('memory.fixture', { mark: claim.mark, position });
  const place = [claim.floor_name, claim.room_name, fixture].filter(Boolean).join(', ');
  const what = [choiceText(failure.sign), failure.item, failure.serials].filter(Boolean).join(', ');
  return html`<section class="card" aria-label=${place}>
    <h2><a class="tall" href=${`/s/${site.id}/fixture/${group}/${position}/now`}>${place}</a></h2>
    <p>${say('memory.reported', { on: failure.on, sign: what })}</p>
    <p class="marks"><${Mark} look=${claim.open ? 'attention' : 'done'}>${choiceText(claim.state)}<//> <span class="small">${say('memory.claims.since', { on: claim.since })}</span></p>
    <a class="button" href=${inLanguage(`/api/sites/${site.id}/memory/${group}/${position}/claim-${failure.id}.pdf`, language)} download>${say('memory.claim-letter')}</a>
    <${ClaimSteps} site=${site} failure=${failure.id} />
  </section>`;
}
