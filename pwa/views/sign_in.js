// Signing in: with a signal, once; from then on the phone knows who it is.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../store/store.js';
import { html } from './html.js';
import { navigate } from './navigate.js';
import { Page } from './parts/page.js';
import { Problem } from './parts/parts.js';
import { Turn } from './parts/turn.js';
import { NewChanges } from './people/changes.js';
import { Languages } from './people/languages.js';
import { ProofFields, useWait, wantedBy } from './people/proof.js';
import { say } from './words.js';

/** @typedef {{name: string, role: string, password: string}} Help */

/** @param {{then?: string, why?: string}} props where to go then, and why to sign in here */
export function SignIn({ then = '/', why }) {
  const [name, setName] = useState('');
  const [password, setPassword] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const [wanted, setWanted] = useState(/** @type {import('./people/proof.js').Wanted | null} */ (null));
  const wait = useWait(error);
  const [isIn, setIn] = useState(false);
  const [help, setHelp] = useState(/** @type {Help[]} */ ([]));
  const [, draw] = useState(0);
  useEffect(() => store.subscribe(() => draw((count) => count + 1)), []);
  useEffect(() => {
    store.signInHelp().then(setHelp);
  }, []);
  const goOn = () => navigate(then, { replace: true });
  /** @param {import('./people/proof.js').Shown} shown */
  const enter = async (shown) => {
    setBusy(true);
    setError(null);
    try {
      await store.signIn(name.trim(), password, shown);
      if (store.changes.length === 0) goOn();
      else setIn(true);
    } catch (problem) {
      const asked = wantedBy(problem, 'second-factor-needed');
      if (!asked) setError(problem);
      // After a wrong one a passkey is asked anew: what it was asked before is spent.
      setWanted(asked ?? wantedBy(problem, 'second-factor-wrong') ?? wanted);
      setBusy(false);
    }
  };
  const submit = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const { code } = Object.fromEntries(new FormData(/** @type {HTMLFormElement} */ (event.currentTarget)));
    enter(wanted ? { code: String(code) } : {});
  };
  const another = () => {
    setWanted(null);
    setError(null);
  };
  if (isIn)
    return html`<${Page} title=${say('page.sign-in')}><${NewChanges} onRead=${goOn} go=${say('changed.go-on')} /><//>`;
  return html`<${Page} title=${say('page.sign-in')}>
    ${why && html`<p class="notice">${why}</p>`}
    <form class="stack sign-in" onSubmit=${submit}>
      ${
        wanted
          ? html`<p class="notice">${say('second-factor-needed')}</p><${ProofFields} wanted=${wanted} onPasskey=${enter} />`
          : html`<div class="field">
        <label for="name">${say('page.name')}</label>
        <input id="name" name="name" autocomplete="username" autocapitalize="off" required value=${name}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setName(event.currentTarget.value)} />
      </div>
      <div class="field">
        <label for="password">${say('page.password')}</label>
        <input id="password" name="password" type="password" autocomplete="current-password" required value=${password}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setPassword(event.currentTarget.value)} />
      </div>`
      }
      <${Problem} error=${error} />
      <${Turn} />
      <button class="button main wide" disabled=${busy || wait > 0}>${wait > 0 ? say('proof.wait', { seconds: wait }) : say('page.sign-in')}</button>
      ${wanted && html`<button type="button" class="button wide" onClick=${another}>${say('page.back')}</button>`}
      <p class="small muted">${say('people.forgotten')}</p>
    </form>
    <a class="button wide" href="/enrol">${say('enrol.title')}</a>
    <${Languages} onChoose=${(/** @type {string} */ language) => store.readIn(language)} />
    ${help.length > 0 && html`<${DemoPeople} people=${help} />`}
    ${!globalThis.isSecureContext && html`<p class="notice bad">${say('page.this-page-did-not-come')}</p>`}
  <//>`;
}

/** @param {{people: Help[]}} props */
function DemoPeople({ people }) {
  return html`<section class="card" aria-labelledby="demo-people">
    <h2 id="demo-people">${say('page.this-is-the-demo-an')}</h2>
    <p>${say('page.everybody-here-signs-in-with')} <strong>${people[0].password}</strong>.</p>
    <ul>${people.map((person) => html`<li><strong>${person.name}</strong>, ${person.role}</li>`)}</ul>
  </section>`;
}
