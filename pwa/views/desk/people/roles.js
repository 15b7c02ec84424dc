// The roles of a site in plain words, and which of them who is signed in may give: none above their own.

import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { say } from '../../words.js';

const ROLES = ['facility', 'surveyor', 'crew', 'manager', 'owner'];

/** Whether who is signed in may give a role, and change those who have it; the server decides again. @param {Site} site @param {string} role */
export const mayGive = (site, role) =>
  role !== 'owner' || site.role === 'owner' || store.person?.owner === true;

/** @param {{site: Site, value: string}} props what stands in a select */
export function RoleOptions({ site, value }) {
  return ROLES.filter((role) => mayGive(site, role)).map(
    (role) => html`<option value=${role} selected=${role === value}>${say(`people.role.${role}`)}</option>`,
  );
}

/** What each role may do. */
export function RoleHelp() {
  return html`<dl class="facts">${ROLES.map((role) => html`<dt>${say(`people.role.${role}`)}</dt><dd>${say(`people.may.${role}`)}</dd>`)}</dl>`;
}
