// Inviting somebody to the firm: onto several sites or none, as an owner or not; and the invitations that are about.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { Answer, useServer } from '../desk/parts.js';
import { OneLink } from '../desk/people/invitations.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { LinkCard } from './link_card.js';

const ROLES = ['surveyor', 'crew', 'manager', 'owner'];

export function FirmInvitations() {
  const [turn, setTurn] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const answer = /** @type {import('../desk/parts.js').Answered<{links: LinkListed[]}>} */ (
    useServer('/api/links', [turn])
  );
  const again = () => setTurn((before) => before + 1);
  /** @param {string} id */
  const withdraw = async (id) => {
    setError(null);
    await askServer(`/api/links/${id}`, { method: 'DELETE' }).catch(setError);
    again();
  };
  /** @param {LinkListed} link */
  const title = ({ role }) =>
    role ? say('firm-invite.one-with-role', { role: say(`people.role.${role}`) }) : say('firm-invite.one');
  return html`<${Invite} onMade=${again} />
    <${Answer} answer=${answer}>${(/** @type {{links: LinkListed[]}} */ { links }) =>
      links.length > 0 &&
      html`<section class="stack" aria-label=${say('firm-invite.links')}>
        <h2>${say('firm-invite.links')}</h2>
        <ul class="rows">${links.map((link) => html`<${OneLink} key=${link.id} link=${link} title=${title(link)} onWithdraw=${() => withdraw(link.id)} />`)}</ul>
      </section>`}<//>
    <${Problem} error=${error} />`;
}

/** @param {{onMade: () => void}} props */
function Invite({ onMade }) {
  const [link, setLink] = useState(/** @type {import('./link_card.js').LinkMade | null} */ (null));
  const [some, setSome] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const sites = store.sites().filter((site) => site.kind !== 'catalogue' && !site.archived_at);
  const make = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.currentTarget);
    const told = new FormData(form);
    const chosen = told.getAll('site');
    const body = {
      owner: told.has('owner'),
      sites: chosen,
      role: chosen.length > 0 ? told.get('role') : null,
      note: told.get('note') || null,
    };
    setError(null);
    try {
      setLink(await askServer('/api/invites', { method: 'POST', body }));
      form.reset();
      setSome(false);
      onMade();
    } catch (refused) {
      setError(refused);
    }
  };
  const count = (/** @type {EventOf<HTMLFieldSetElement>} */ event) =>
    setSome(event.currentTarget.querySelector('input:checked') !== null);
  return html`<form class="card" onSubmit=${make} aria-label=${say('firm-invite.title')}>
      <h2>${say('firm-invite.title')}</h2>
      <p>${say('firm-invite.help')}</p>
      ${
        sites.length > 0 &&
        html`<fieldset class="field" onChange=${count}><legend>${say('firm-invite.sites')}</legend>
        ${sites.map((site) => html`<label class="check-line" key=${site.id}><input type="checkbox" name="site" value=${site.id} /> <span>${site.name}</span></label>`)}
      </fieldset>`
      }
      ${
        some &&
        html`<div class="field"><label for="firm-role">${say('firm-invite.role')}</label>
        <select id="firm-role" name="role">${ROLES.map((role) => html`<option value=${role}>${say(`people.role.${role}`)}</option>`)}</select></div>`
      }
      <label class="check-line"><input type="checkbox" name="owner" /> <span>${say('firm-invite.owner')}</span></label>
      <div class="field"><label for="firm-note">${say('people.note')}</label>
        <input id="firm-note" name="note" maxlength="80" autocomplete="off" /></div>
      <${Problem} error=${error} />
      <button class="button main">${say('people.invite-make')}</button>
    </form>
    ${link && html`<${LinkCard} key=${link.id} link=${link} title=${say('firm-invite.one')} />`}`;
}
