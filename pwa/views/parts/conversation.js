// The talk about a problem: what was said, by whom and when; and saying more.

import { useState } from 'preact/hooks';
import { facet } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { choiceText, say, timeText } from '../words.js';
import { Problem } from './parts.js';

/** @typedef {RecordView<'problem_answer'> | RecordView<'problem_reply'> | RecordView<'difference_answer'>} Said */

/** What was said, the oldest first. @param {{words: Said[]}} props */
export function Talk({ words }) {
  if (words.length === 0) return null;
  return html`<ol class="talk" aria-label=${say('talk.said')}>${words.map((each) => html`<${One} key=${each.id} said=${each} />`)}</ol>`;
}

/** @param {{said: Said}} props */
function One({ said }) {
  const {
    answer,
    words,
    noted_at: at,
  } = /** @type {{answer?: string, words?: string, noted_at?: string}} */ (facet(said, 'identity'));
  return html`<li>
    ${answer && html`<p class="strong">${choiceText(answer)}</p>`}
    ${words && html`<p>${words}</p>`}
    <p class="muted small">${store.whoSaid(said)}, ${timeText(at ?? said.at.identity ?? '')}</p>
  </li>`;
}

/**
 * A box for words, and what is said with them.
 *
 * @param {{label: string, button: string, needsWords: boolean, children?: Child, onSaid: (words: string) => Promise<unknown>}} props
 */
export function SayMore({ label, button, needsWords, children, onSaid }) {
  const [words, setWords] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (needsWords && !words.trim()) return setError({ code: 'talk.say-something' });
    setBusy(true);
    setError(null);
    try {
      await onSaid(words.trim());
      setWords('');
    } catch (problem) {
      setError(problem);
    } finally {
      setBusy(false);
    }
  };
  return html`<form class="stack" onSubmit=${submit}>
    ${children}
    <label class="field"><span class="label">${label}</span>
      <textarea rows="2" maxlength="2000" value=${words} onInput=${(/** @type {EventOf<HTMLTextAreaElement>} */ event) => setWords(event.currentTarget.value)}></textarea>
    </label>
    <${Problem} error=${error} />
    <button class="button" disabled=${busy}>${button}</button>
  </form>`;
}

/** What somebody says to what was noted on a fixture. @param {Site} site @param {string} type @param {string} installation @param {Value} value @returns {Draft} */
export const saidOn = (site, type, installation, value) => ({
  record: site.newId(),
  type,
  facet: 'identity',
  seen: null,
  value: { parent: installation, ...value, noted_at: new Date().toISOString() },
});
