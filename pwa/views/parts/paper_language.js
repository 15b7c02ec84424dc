// In which language a paper is made: an offer is read by a customer, an order by a supplier. Without a choice it is one's own.

import { store } from '../../store/store.js';
import { html } from '../html.js';
import { say } from '../words.js';

/** One's own language, whatever it is then. */
export const OWN = '';

/** A language without its region. @param {string} tag */
const base = (tag) => tag.split('-')[0];

/** An address with the language that a paper is wanted in. @param {string} href @param {string} language */
export const inLanguage = (href, language) => (language === OWN ? href : `${href}?language=${language}`);

/** What a language is called in itself. @param {string} tag */
export const languageName = (tag) => say(`me.language.${base(tag)}`);

/** @param {{id: string, value: string, onChange: (language: string) => void}} props `value`: `OWN`, or a tag */
export function PaperLanguage({ id, value, onChange }) {
  const own = base(store.language);
  const tags = (store.tables.languages ?? []).filter((tag) => tag === base(tag));
  if (tags.length < 2) return null;
  const choose = (/** @type {EventOf<HTMLSelectElement>} */ { currentTarget }) =>
    onChange(currentTarget.value === own ? OWN : currentTarget.value);
  return html`<div class="field"><label for=${id}>${say('desk.paper-language')}</label>
    <select id=${id} value=${value || own} onChange=${choose}>
      ${tags.map((tag) => html`<option key=${tag} value=${tag} selected=${tag === (value || own)}>${languageName(tag)}</option>`)}
    </select></div>`;
}
