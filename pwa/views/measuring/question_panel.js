// A question in the place of the keys: what is doubted, and the answers, one tap each.

import { useEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';

/** @param {{asked: import('./asked_at_save.js').Asked, onAnswer: (change: Partial<import('./tape_pad.js').Typed>) => void}} props */
export function QuestionPanel({ asked, onAnswer }) {
  const text = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => text.current?.focus({ preventScroll: true }), []);
  return html`<div class="asked notice question">
    <div class="asked-text" role="alert" tabindex="0" ref=${text}>
      ${asked.said.map(({ code, facts }) => html`<p key=${code}>${say(code, facts)}</p>`)}
    </div>
    <div class="asked-answers">
      ${asked.answers.map(({ says: [code, facts], change }) => html`<button type="button" class="button" key=${say(code, facts)} onClick=${() => onAnswer(change)}>${say(code, facts)}</button>`)}
    </div>
  </div>`;
}
