// Inviting somebody to the site by a one-time link, and the links that are about: how each stands, and withdrawing it.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { LinkCard } from '../../people/link_card.js';
import { say, timeText } from '../../words.js';
import { RoleOptions } from './roles.js';

/** @param {{site: Site, links: LinkListed[], onChanged: () => void}} props `links` of the site, asked for anew after a change */
export function Invitations({ site, links, onChanged }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} id */
  const withdraw = async (id) => {
    setError(null);
    await askServer(`/api/sites/${site.id}/links/${id}`, { method: 'DELETE' }).catch(setError);
    onChanged();
  };
  return html`<${Invite} site=${site} onMade=${onChanged} />
    ${
      links.length > 0 &&
      html`<section class="stack" aria-label=${say('people.invitations')}>
      <h2>${say('people.invitations')}</h2>
      <ul class="rows">${links.map((link) => html`<${OneLink} key=${link.id} link=${link} onWithdraw=${() => withdraw(link.id)} />`)}</ul>
    </section>`
    }
    <${Problem} error=${error} />`;
}

/** @param {{site: Site, onMade: () => void}} props */
function Invite({ site, onMade }) {
  const [link, setLink] = useState(/** @type {import('../../people/link_card.js').LinkMade | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.currentTarget);
    const body = Object.fromEntries(new FormData(form));
    setError(null);
    try {
      setLink(await askServer(`/api/sites/${site.id}/invites`, { method: 'POST', body }));
      // The role stays: who invites one of a crew invites the next.
      /** @type {HTMLInputElement} */ (form.elements.namedItem('note')).value = '';
      onMade();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<form class="card" onSubmit=${make} aria-label=${say('people.invite')}>
      <h2>${say('people.invite')}</h2>
      <p>${say('people.invite-help')}</p>
      <div class="field"><label for="invite-role">${say('people.invite-role')}</label>
        <select id="invite-role" name="role"><${RoleOptions} site=${site} value="surveyor" /></select></div>
      <div class="field"><label for="invite-note">${say('people.note')}</label>
        <input id="invite-note" name="note" maxlength="80" autocomplete="off" /></div>
      <${Problem} error=${error} />
      <button class="button main">${say('people.invite-make')}</button>
    </form>
    ${link && html`<${LinkCard} key=${link.id} link=${link} title=${say('people.invitation')} />`}`;
}

/** @param {{link: LinkListed, onWithdraw: () => void, title?: string}} props `title`: what it is, where its kind does not say so */
export function OneLink({ link, onWithdraw, title }) {
  const role = link.role ? say(`people.role.${link.role}`) : '';
  const what = [title ?? say(`people.link-for.${link.kind}`, { role, name: link.name }), link.note]
    .filter(Boolean)
    .join(', ');
  const by = link.made_by ? 'people.link-made' : 'people.link-made-by-command';
  return html`<li class="row-text" data-link=${link.state}>
    <span class="strong">${what}</span>
    <span class="detail">${say(`people.link-is.${link.state}`, { time: timeText(link.expires_at), name: link.name })}</span>
    <span class="detail">${say(by, { name: link.made_by, time: timeText(link.made_at) })}</span>
    ${link.state === 'open' && html`<span><button type="button" class="button" aria-label=${say('people.withdraw-of', { what })} onClick=${onWithdraw}>${say('people.withdraw')}</button></span>`}
  </li>`;
}
