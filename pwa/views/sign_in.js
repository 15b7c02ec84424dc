// Signing in: with a signal, once; from then on the phone knows who it is.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../store/store.js';
import { html } from './html.js';
import { navigate } from './navigate.js';
import { Page } from './parts/page.js';
import { Problem } from './parts/parts.js';

/** @typedef {{name: string, role: string, password: string}} Help */

/** @param {{then?: string, why?: string}} props where to go then, and why to sign in here */
export function SignIn({ then = '/', why }) {
  const [name, setName] = useState('');
  const [password, setPassword] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const [help, setHelp] = useState(/** @type {Help[]} */ ([]));
  useEffect(() => {
    store.signInHelp().then(setHelp);
  }, []);
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setBusy(true);
    setError(null);
    try {
      await store.signIn(name.trim(), password);
      navigate(then, { replace: true });
    } catch (problem) {
      setError(problem);
      setBusy(false);
    }
  };
  return html`<${Page} title="Sign in">
    ${why && html`<p class="notice">${why}</p>`}
    <form class="stack sign-in" onSubmit=${submit}>
      <div class="field">
        <label for="name">Name</label>
        <input id="name" name="name" autocomplete="username" autocapitalize="off" required value=${name}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setName(event.currentTarget.value)} />
      </div>
      <div class="field">
        <label for="password">Password</label>
        <input id="password" name="password" type="password" autocomplete="current-password" required value=${password}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setPassword(event.currentTarget.value)} />
      </div>
      <${Problem} error=${error} />
      <button class="button main wide" disabled=${busy}>Sign in</button>
    </form>
    ${help.length > 0 && html`<${DemoPeople} people=${help} />`}
    ${!globalThis.isSecureContext && html`<p class="notice bad">This page did not come over a secure connection: it cannot work offline here, and cannot scan labels.</p>`}
  <//>`;
}

/** @param {{people: Help[]}} props */
function DemoPeople({ people }) {
  return html`<section class="card" aria-labelledby="demo-people">
    <h2 id="demo-people">This is the demo: an invented building</h2>
    <p>Everybody here signs in with the password <strong>${people[0].password}</strong>.</p>
    <ul>${people.map((person) => html`<li><strong>${person.name}</strong>, ${person.role}</li>`)}</ul>
  </section>`;
}
