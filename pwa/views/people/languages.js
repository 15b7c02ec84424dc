// In which language one reads: on one's own page, and before anybody signs in.

import { store } from '../../store/store.js';
import { html } from '../html.js';
import { numberText } from '../numbers.js';
import { NotReviewed } from '../parts/not_reviewed.js';
import { say } from '../words.js';

/** @param {{id: string, name: string, value: string, among: string[], onChoose: (value: string) => void}} props */
export function Choice({ id, name, value, among, onChoose }) {
  return html`<div class="field"><label for=${id}>${say(`me.choose.${name}`)}</label>
    <select id=${id} value=${value} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChoose(event.currentTarget.value)}>
      ${among.map((each) => html`<option value=${each} selected=${each === value}>${say(`me.${name}.${each}`)}</option>`)}
    </select></div>`;
}

/** The languages there are, each called in itself, and what is to be known of the one that is read. @param {{onChoose: (language: string) => void}} props */
export function Languages({ onChoose }) {
  const languages = (store.tables.languages ?? []).filter((tag) => !tag.includes('-'));
  const [language] = store.language.split('-');
  if (languages.length < 2) return null;
  return html`<${Choice} id="own-language" name="language" value=${language} among=${languages} onChoose=${onChoose} />
    <${NotReviewed} /><${Incomplete} language=${language} />`;
}

/** How much of a language is said in the first one. @param {{language: string}} props */
function Incomplete({ language }) {
  const count = store.tables.lacking?.[language] ?? 0;
  if (count === 0) return null;
  return html`<p class="notice small" role="note">${say('language.incomplete', { count: numberText(count) })}</p>`;
}
