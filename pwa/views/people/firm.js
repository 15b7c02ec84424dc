// Everybody of the firm, for its owners: who may sign in, who is an owner, on which sites they are.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { Answer, useServer } from '../desk/parts.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Mark, Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';
import { Asked } from './asked.js';
import { FirmInvitations } from './firm_invitations.js';
import { FirmPhones } from './firm_phones.js';
import { LinkCard } from './link_card.js';

/** @typedef {{state?: string, owner?: boolean}} Change */
/** What is asked about before it is done. @typedef {'disable' | 'leave' | 'factors-off' | 'anonymise'} Asking */

export function Firm() {
  const owner = store.person?.owner === true;
  return html`<${Page} title=${say('people.firm')} back="/" look="desk">
    ${owner ? html`<${Everybody} />` : html`<p>${say('people.only-owners')}</p>`}
  <//>`;
}

function Everybody() {
  const [turn, setTurn] = useState(0);
  const answer = /** @type {import('../desk/parts.js').Answered<{people: PersonOfFirm[]}>} */ (
    useServer('/api/people', [turn])
  );
  return html`<p>${say('people.firm-help')}</p>
    <p><a class="button" href="/people/audit">${say('audit.title')}</a></p>
    <${Answer} answer=${answer}>${(
      /** @type {{people: PersonOfFirm[]}} */ { people },
    ) => html`<ul class="rows" aria-label=${say('people.firm')}>
      ${people.map((person) => html`<${OneOfFirm} key=${person.id} person=${person} onChanged=${() => setTurn((before) => before + 1)} />`)}
    </ul>`}<//>
    <${FirmInvitations} />
    <${FirmPhones} />`;
}

/** @param {{person: PersonOfFirm, onChanged: () => void}} props */
function OneOfFirm({ person, onChanged }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [asked, setAsked] = useState(/** @type {Asking | null} */ (null));
  const [link, setLink] = useState(/** @type {import('./link_card.js').LinkMade | null} */ (null));
  /** @param {() => Promise<unknown>} doing */
  const attempt = async (doing) => {
    setError(null);
    setAsked(null);
    try {
      await doing();
    } catch (refused) {
      setError(refused);
    }
  };
  /** @param {Change} body */
  const change = (body) =>
    attempt(async () => {
      await askServer(`/api/people/${person.id}`, { method: 'PUT', body });
      onChanged();
    });
  const takeOff = () =>
    attempt(async () => {
      await askServer(`/api/people/${person.id}/factors`, { method: 'DELETE' });
      onChanged();
    });
  const reset = () =>
    attempt(async () =>
      setLink(await askServer('/api/resets', { method: 'POST', body: { person: person.id } })),
    );
  const anonymise = () =>
    attempt(async () => {
      await askServer(`/api/people/${person.id}/anonymised`, { method: 'POST' });
      onChanged();
    });
  const { name } = person;
  return html`<li class="row-text person-row" data-person=${name}>
    <span class="strong">${name} ${person.owner && html`<${Mark}>${say('people.owner-of-firm')}<//>`}</span>
    <span class="detail">${[stateText(person), person.factors > 0 && say('people.has-factor')].filter(Boolean).join(', ')}</span>
    <span class="detail">${sitesText(person)}</span>
    ${person.anonymised && html`<span class="detail">${say('person-anonymised', { name })}</span>`}
    ${asked === null && !person.anonymised && html`<${Deeds} person=${person} onChange=${change} onAsk=${setAsked} onReset=${reset} />`}
    ${asked === 'anonymise' && html`<${Asked} doing=${say('privacy.anonymise')} onLeave=${() => setAsked(null)} onDo=${anonymise}>${say('privacy.anonymise-sure', { name })}<//>`}
    ${
      asked &&
      asked !== 'anonymise' &&
      html`<${Asked} doing=${say(`people.${asked}`)} onLeave=${() => setAsked(null)}
      onDo=${() => (asked === 'factors-off' ? takeOff() : change({ state: asked === 'disable' ? 'disabled' : 'left' }))}>${say(`people.${asked}-sure`, { name })}<//>`
    }
    <${Problem} error=${error} />
    ${link && html`<${LinkCard} link=${link} title=${say('people.link-for.reset', { name })} />`}
  </li>`;
}

/** @param {PersonOfFirm} person */
function stateText({ state, state_since: since, has_password: hasPassword }) {
  if (state !== 'active')
    return [say(`people.state.${state}`), since && say('people.since', { time: timeText(since) })]
      .filter(Boolean)
      .join(' ');
  return say(hasPassword ? 'people.state.active' : 'people.no-password');
}

/** @param {PersonOfFirm} person */
const sitesText = ({ sites }) =>
  sites
    .map(({ name, role }) => say('people.site-role', { site: name, role: say(`people.role.${role}`) }))
    .join(', ') || say('people.no-site');

/** @param {{person: PersonOfFirm, onChange: (change: Change) => void, onAsk: (what: Asking) => void, onReset: () => void}} props */
function Deeds({ person, onChange, onAsk, onReset }) {
  const { state, owner, name } = person;
  /** @param {string} what @param {() => void} deed */
  const button = (what, deed) =>
    html`<button type="button" class="button" aria-label=${say(`people.${what}-of`, { name })} onClick=${deed}>${say(`people.${what}`)}</button>`;
  if (state !== 'active')
    return html`<span class="side-by-side">${button('enable', () => onChange({ state: 'active' }))}${state === 'disabled' && button('leave', () => onAsk('leave'))}${
      state === 'left' &&
      html`<button type="button" class="button" aria-label=${say('privacy.anonymise-of', { name })} onClick=${() => onAsk('anonymise')}>${say('privacy.anonymise')}</button>`
    }<a class="button" aria-label=${say('privacy.data-of', { name })} href=${`/api/people/${person.id}/data.zip`} download>${say('privacy.data')}</a></span>`;
  return html`<span class="side-by-side">
    ${button('reset', onReset)}
    ${owner ? button('no-owner', () => onChange({ owner: false })) : button('make-owner', () => onChange({ owner: true }))}
    ${person.factors > 0 && button('factors-off', () => onAsk('factors-off'))}
    ${button('disable', () => onAsk('disable'))}
    ${button('leave', () => onAsk('leave'))}
    <a class="button" aria-label=${say('privacy.data-of', { name })} href=${`/api/people/${person.id}/data.zip`} download>${say('privacy.data')}</a>
  </span>`;
}
