// Who is on the site, which phones they use, what those have not sent, what waits for a manager's word.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { choiceText, say } from '../words.js';
import { BringIn } from './bring_in.js';
import { Held } from './held.js';
import { Answer, Desk, useServer } from './parts.js';
import { Phones } from './phones.js';

const ROLES = ['surveyor', 'crew', 'manager'];
const OFF = 'not-on-the-site';

/** @param {{site: Site}} props */
export function People({ site }) {
  const decides = ['manager', 'owner'].includes(site.role);
  return html`<${Desk} site=${site} at="/people" title=${say('desk.people-and-phones')}>
    ${decides ? html`<${Decider} site=${site} />` : html`<p>${say('desk.people-manager-only')}</p>`}
    <${BringIn} site=${site} />
  <//>`;
}

/** @param {{site: Site}} props */
function Decider({ site }) {
  const [turn, setTurn] = useState(0);
  const again = () => {
    setTurn((before) => before + 1);
    store.syncNow();
  };
  const at = `/api/sites/${site.id}`;
  const held = useServer(`${at}/held`, [turn]);
  const phones = useServer(`${at}/devices`, [turn]);
  const people = useServer(`${at}/people`, [turn]);
  return html`
    <${Answer} answer=${held}>${(/** @type {{held: HeldTold[]}} */ told) => html`<${Held} site=${site} held=${told.held} onSettled=${again} />`}<//>
    <${Answer} answer=${phones}>${(/** @type {{devices: DeviceTold[]}} */ told) => html`<${Phones} site=${site} phones=${told.devices} onRevoked=${again} />`}<//>
    <${Answer} answer=${people}>${(/** @type {{people: PersonOfSite[]}} */ told) => html`<${OnSite} site=${site} people=${told.people} onChanged=${again} />`}<//>`;
}

/** @param {{site: Site, people: PersonOfSite[], onChanged: () => void}} props */
function OnSite({ site, people, onChanged }) {
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
  return html`<section class="stack" aria-label=${say('desk.people')}>
    <h2>${say('desk.people-of-this-site')}</h2>
    <ul class="rows">${people.map(
      ({ id, name, role }) => html`<li class="row-text" key=${`${id} ${role}`}>
      <span class="strong">${name}</span><span class="detail">${choiceText(role ?? OFF)}</span>
      <${Role} name=${name} role=${role} onPut=${put} />
    </li>`,
    )}</ul>
    <${Problem} error=${error} />
    <${PutOn} onPut=${put} />
    ${store.person?.owner && html`<${NewPerson} />`}
  </section>`;
}

/** @param {{name: string, role: string | null, onPut: (name: string, role: string | null) => Promise<boolean>}} props */
function Role({ name, role, onPut }) {
  const [wanted, setWanted] = useState(role ?? OFF);
  if (role === 'owner') return null;
  return html`<div class="side-by-side">
    <select aria-label=${say('desk.role-of', { name })} value=${wanted} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setWanted(event.currentTarget.value)}>
      ${[...ROLES, OFF].map((each) => html`<option value=${each} selected=${each === wanted}>${choiceText(each)}</option>`)}
    </select>
    <button type="button" class="button" aria-label=${say('desk.change-role-of', { name })} disabled=${wanted === (role ?? OFF)} onClick=${() => onPut(name, wanted === OFF ? null : wanted)}>${say('desk.change')}</button>
  </div>`;
}

/** @param {{onPut: (name: string, role: string | null) => Promise<boolean>}} props */
function PutOn({ onPut }) {
  const [name, setName] = useState('');
  const [role, setRole] = useState(ROLES[0]);
  const put = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (await onPut(name.trim(), role)) setName('');
  };
  return html`<form class="card" onSubmit=${put} aria-label=${say('desk.put-somebody-on-the-site')}>
    <div class="field"><label for="put-name">${say('desk.name-they-sign-in-with')}</label>
      <input id="put-name" required maxlength="80" autocomplete="off" value=${name} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setName(event.currentTarget.value)} /></div>
    <div class="field"><label for="put-role">${say('desk.role')}</label>
      <select id="put-role" value=${role} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setRole(event.currentTarget.value)}>
        ${ROLES.map((each) => html`<option value=${each}>${choiceText(each)}</option>`)}
      </select></div>
    <button class="button main">${say('desk.put-on-the-site')}</button>
  </form>`;
}

/** An owner makes people; a manager puts them on a site. */
function NewPerson() {
  const [made, setMade] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.currentTarget);
    const { name, password } = Object.fromEntries(new FormData(form));
    setError(null);
    try {
      setMade(
        /** @type {PersonOfSite} */ (
          await askServer('/api/people', { method: 'POST', body: { name, password } })
        ).name,
      );
      form.reset();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<form class="card" onSubmit=${make} aria-label=${say('desk.make-a-person')}>
    <div class="field"><label for="new-name">${say('desk.name-of-a-new-person')}</label><input id="new-name" name="name" required maxlength="80" autocomplete="off" /></div>
    <div class="field"><label for="new-password">${say('desk.first-password-10-letters-or')}</label><input id="new-password" name="password" type="password" required minlength="10" maxlength="200" autocomplete="new-password" /></div>
    <${Problem} error=${error} />
    ${made && html`<p role="status" class="strong">${say('desk.person-made', { name: made })}</p>`}
    <button class="button">${say('desk.make-the-person')}</button>
  </form>`;
}
