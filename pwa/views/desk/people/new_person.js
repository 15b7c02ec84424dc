// An owner makes a person with a first password, for somebody who cannot open a link.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { say } from '../../words.js';

export function NewPerson() {
  const [made, setMade] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.currentTarget);
    const { name, password } = Object.fromEntries(new FormData(form));
    setError(null);
    try {
      /** @type {{name: string}} */
      const person = await askServer('/api/people', { method: 'POST', body: { name, password } });
      setMade(person.name);
      form.reset();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<form class="card" onSubmit=${make} aria-label=${say('people.make-title')}>
    <h2>${say('people.make-title')}</h2>
    <p>${say('people.make-help')}</p>
    <div class="field"><label for="new-name">${say('people.make-name')}</label><input id="new-name" name="name" required maxlength="80" autocomplete="off" /></div>
    <div class="field"><label for="new-password">${say('people.make-password')}</label><input id="new-password" name="password" type="password" required minlength="10" maxlength="200" autocomplete="new-password" /></div>
    <${Problem} error=${error} />
    ${made && html`<p role="status" class="strong">${say('people.made', { name: made })}</p>`}
    <button class="button">${say('people.make')}</button>
  </form>`;
}
