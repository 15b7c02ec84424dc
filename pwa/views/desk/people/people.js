// Who is on the site, who is invited, which phones they use, what those have not sent, what waits for a manager's word.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { LinkCard } from '../../people/link_card.js';
import { say } from '../../words.js';
import { Answer, Desk, useServer } from '../parts.js';
import { BringIn } from './bring_in.js';
import { Held } from './held.js';
import { Invitations } from './invitations.js';
import { NewPerson } from './new_person.js';
import { Phones } from './phones.js';
import { mayGive, RoleHelp, RoleOptions } from './roles.js';

/** What a select says for somebody who is taken off the site. */
const OFF = '';

/** @param {{site: Site}} props */
export function People({ site }) {
  const decides = ['manager', 'owner'].includes(site.role);
  return html`<${Desk} site=${site} at="/people" title=${say('people.and-phones')}>
    ${decides ? html`<${Decider} site=${site} />` : html`<p>${say('desk.people-manager-only')}</p><${BringIn} site=${site} />`}
  <//>`;
}

/** @template T @typedef {import('../parts.js').Answered<T>} Answered */
/** @typedef {{held: HeldTold[], devices: DeviceTold[], people: PersonOfSite[], links: LinkListed[]}} AllOfPeople */

/** @param {{site: Site}} props */
function Decider({ site }) {
  const [turn, setTurn] = useState(0);
  const again = () => {
    setTurn((before) => before + 1);
    store.syncNow();
  };
  const [made, setMade] = useState(0);
  const onLink = () => setMade((before) => before + 1);
  const at = `/api/sites/${site.id}`;
  const held = /** @type {Answered<{held: HeldTold[]}>} */ (useServer(`${at}/held`, [turn]));
  const phones = /** @type {Answered<{devices: DeviceTold[]}>} */ (useServer(`${at}/devices`, [turn]));
  const people = /** @type {Answered<{people: PersonOfSite[]}>} */ (useServer(`${at}/people`, [turn]));
  const links = /** @type {Answered<{links: LinkListed[]}>} */ (useServer(`${at}/links`, [turn, made]));
  // Drawn when all has come: what came later would push down what is read already.
  const [first, second, third, fourth] = [held.told, phones.told, people.told, links.told];
  const error = held.error ?? phones.error ?? people.error ?? links.error;
  const all = first &&
    second &&
    third &&
    fourth && { held: first.held, devices: second.devices, people: third.people, links: fourth.links };
  return html`<${Answer} answer=${{ told: all, error }}>${(/** @type {AllOfPeople} */ told) => html`
    <${Held} site=${site} held=${told.held} onSettled=${again} />
    <${OnSite} site=${site} people=${told.people} links=${told.links} onChanged=${again} onLink=${onLink}>
      <${Phones} site=${site} phones=${told.devices} onRevoked=${again} />
    <//>`}<//>
    ${(all || error) && html`<${BringIn} site=${site} />`}`;
}

/** @param {{site: Site, people: PersonOfSite[], links: LinkListed[], onChanged: () => void, onLink: () => void, children?: Child}} props */
function OnSite({ site, people, links, onChanged, onLink, children }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} name @param {string | null} role */
  const put = async (name, role) => {
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/people`, { method: 'PUT', body: { name, role } });
      onChanged();
      return true;
    } catch (refused) {
      setError(refused);
      return false;
    }
  };
  return html`<div class="side-columns"><div class="stack"><section class="stack" aria-label=${say('people.people')}>
    <h2>${say('people.of-site')}</h2>
    <ul class="rows">${people.map(
      (person) =>
        html`<${OneOnSite} key=${`${person.id} ${person.role}`} site=${site} person=${person} onPut=${put} onLink=${onLink} />`,
    )}</ul>
    <${Problem} error=${error} />
    <${RoleHelp} />
    ${store.person?.owner && html`<p><a class="button" href="/people">${say('people.firm')}</a></p>`}
  </section>
  ${children}</div>
  <div class="stack"><${Invitations} site=${site} links=${links} onChanged=${onLink} />
  <${PutOn} site=${site} onPut=${put} />
  ${store.person?.owner && html`<${NewPerson} />`}</div></div>`;
}

/** @param {{site: Site, person: PersonOfSite, onPut: (name: string, role: string | null) => Promise<boolean>, onLink: () => void}} props */
function OneOnSite({ site, person, onPut, onLink }) {
  const [wanted, setWanted] = useState(person.role ?? OFF);
  const [link, setLink] = useState(/** @type {import('../../people/link_card.js').LinkMade | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const { id, name, role, state } = person;
  const reset = async () => {
    setError(null);
    try {
      setLink(await askServer(`/api/sites/${site.id}/resets`, { method: 'POST', body: { person: id } }));
      onLink();
    } catch (refused) {
      setError(refused);
    }
  };
  const told = [
    role ? say(`people.role.${role}`) : say('people.off'),
    state !== 'active' && say(`people.state.${state}`),
  ];
  return html`<li class="row-text person-row">
    <span class="strong">${name}</span><span class="detail">${told.filter(Boolean).join(', ')}</span>
    ${
      (role === null || mayGive(site, role)) &&
      html`<div class="side-by-side">
      <select aria-label=${say('people.role-of', { name })} value=${wanted} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => setWanted(event.currentTarget.value)}>
        <${RoleOptions} site=${site} value=${wanted} />
        <option value=${OFF} selected=${wanted === OFF}>${say('people.off')}</option>
      </select>
      <button type="button" class="button" aria-label=${say('people.change-of', { name })} disabled=${wanted === (role ?? OFF)} onClick=${() => onPut(name, wanted === OFF ? null : wanted)}>${say('people.change')}</button>
      ${role && state === 'active' && id !== store.person?.id && html`<button type="button" class="button" aria-label=${say('people.reset-of', { name })} onClick=${reset}>${say('people.reset')}</button>`}
    </div>`
    }
    <${Problem} error=${error} />
    ${link && html`<${LinkCard} link=${link} title=${say('people.link-for.reset', { name })} />`}
  </li>`;
}

/** @param {{site: Site, onPut: (name: string, role: string | null) => Promise<boolean>}} props */
function PutOn({ site, onPut }) {
  const [name, setName] = useState('');
  const [role, setRole] = useState('surveyor');
  const put = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (await onPut(name.trim(), role)) setName('');
  };
  return html`<form class="card" onSubmit=${put} aria-label=${say('people.put-title')}>
    <h2>${say('people.put-title')}</h2>
    <div class="field"><label for="put-name">${say('people.put-name')}</label>
      <input id="put-name" required maxlength="80" autocomplete="off" value=${name} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setName(event.currentTarget.value)} /></div>
    <div class="field"><label for="put-role">${say('people.role')}</label>
      <select id="put-role" value=${role} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => setRole(event.currentTarget.value)}>
        <${RoleOptions} site=${site} value=${role} />
      </select></div>
    <button class="button">${say('people.put')}</button>
  </form>`;
}
