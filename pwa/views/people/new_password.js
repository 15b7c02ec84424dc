// A field for a new password, which can be looked at while it is typed: there is no second one to type it into.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';

/** @param {{label: string}} props the field is named `password` */
export function NewPassword({ label }) {
  const [shown, setShown] = useState(false);
  return html`<div class="field">
    <label for="new-password">${label}</label>
    <input id="new-password" name="password" type=${shown ? 'text' : 'password'} required minlength="10" maxlength="200"
      autocomplete="new-password" autocapitalize="off" spellcheck="false" aria-describedby="password-help" />
    <p class="help" id="password-help">${say('join.password-help')}</p>
    <label class="chip"><input type="checkbox" checked=${shown} onChange=${() => setShown(!shown)} /><span>${say('join.show')}</span></label>
  </div>`;
}
