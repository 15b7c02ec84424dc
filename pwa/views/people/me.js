// Oneself: name, units and words, password, where one is signed in.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { SignOut } from '../parts/sign_out.js';
import { ThisPhone } from '../parts/this_phone.js';
import { Turn } from '../parts/turn.js';
import { say } from '../words.js';
import { NewChanges } from './changes.js';
import { SecondFactor } from './factors.js';
import { Choice, Languages } from './languages.js';
import { LateChanges } from './late_changes.js';
import { NewPassword } from './new_password.js';
import { OwnPhones } from './own_phones.js';
import { SecondPhone } from './second_phone.js';

export function Me() {
  const [, draw] = useState(0);
  useEffect(() => store.subscribe(() => draw((count) => count + 1)), []);
  const person = store.person;
  useEffect(() => {
    if (!person) navigate('/sign-in', { replace: true });
  }, [person === null]);
  if (!person) return null;
  const factor = html`<${SecondFactor} key="factor" />`;
  const before = [
    html`<${OwnName} key="name-${person.name}" name=${person.name} />`,
    html`<${Choices} key="choices" person=${person} />`,
    html`<${OwnPassword} key="password" />`,
  ];
  return html`<${Page} title=${say('me.title')} over=${person.name} back="/">
    <${NewChanges} />
    ${store.factorFirst && html`<p class="notice bad" role="status">${say('factors.first')}</p>`}
    ${store.factorFirst ? [factor, ...before] : [...before, factor]}
    <${LateChanges} />
    <${OwnPhones} />
    <${SecondPhone} />
    <a class="button" href="/api/me/data.zip" download>${say('privacy.own-data')}</a>
    ${person.owner && html`<a class="button" href="/people">${say('people.firm')}</a>`}
    <${ThisPhone} />
    <${SignOut} />
  <//>`;
}

/**
 * Tries something that may be refused: what went wrong, and whether it was done.
 *
 * @returns {{error: unknown, done: boolean, attempt: (doing: () => Promise<unknown>) => Promise<boolean>}}
 */
function useAttempt() {
  const [state, setState] = useState(
    /** @type {{error: unknown, done: boolean}} */ ({ error: null, done: false }),
  );
  /** @param {() => Promise<unknown>} doing */
  const attempt = async (doing) => {
    setState({ error: null, done: false });
    try {
      await doing();
      setState({ error: null, done: true });
      return true;
    } catch (error) {
      setState({ error, done: false });
      return false;
    }
  };
  return { ...state, attempt };
}

/** @param {{name: string}} props */
function OwnName({ name }) {
  const { error, done, attempt } = useAttempt();
  const save = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const told = new FormData(/** @type {HTMLFormElement} */ (event.currentTarget));
    attempt(() => store.choose({ name: String(told.get('name')) }));
  };
  return html`<form class="card" onSubmit=${save} aria-label=${say('me.name')}>
    <div class="field"><label for="own-name">${say('me.name')}</label>
      <input id="own-name" name="name" required maxlength="80" autocomplete="username" value=${name} aria-describedby="name-help" />
      <p class="help" id="name-help">${say('me.name-help')}</p></div>
    <${Problem} error=${error} />
    <div class="side-by-side"><button class="button">${say('me.name-save')}</button><span role="status">${done && say('me.saved')}</span></div>
  </form>`;
}

/** @param {{person: NonNullable<typeof store.person>}} props */
function Choices({ person }) {
  const { error, done, attempt } = useAttempt();
  const tags = store.tables.languages ?? [];
  const [language, region = ''] = store.language.split('-');
  const regions = tags.filter((tag) => tag.startsWith(`${language}-`)).map((tag) => tag.split('-')[1]);
  /** @param {{language?: string | null, units?: string | null}} wanted */
  const choose = (wanted) => attempt(() => store.choose(wanted));
  return html`<section class="card" aria-label=${say('me.words')}>
    <h2>${say('me.words')}</h2>
    <${Choice} id="own-units" name="units" value=${person.units ?? ''} among=${['', 'inches', 'millimetres']}
      onChoose=${(/** @type {string} */ units) => choose({ units: units || null })} />
    <${Languages} onChoose=${(/** @type {string} */ wanted) => choose({ language: wanted })} />
    ${
      regions.length > 0 &&
      html`<${Choice} id="own-region" name="region" value=${region} among=${['', ...regions]}
      onChoose=${(/** @type {string} */ wanted) => choose({ language: wanted ? `${language}-${wanted}` : language })} />`
    }
    <${Problem} error=${error} />
    <span role="status">${done && say('me.saved')}</span>
  </section>`;
}

function OwnPassword() {
  const { error, done, attempt } = useAttempt();
  const save = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.currentTarget);
    const body = Object.fromEntries(new FormData(form));
    if (await attempt(() => askServer('/api/session/password', { method: 'PUT', body }))) form.reset();
  };
  return html`<form class="card" onSubmit=${save} aria-label=${say('me.password')}>
    <h2>${say('me.password')}</h2>
    <div class="field"><label for="old-password">${say('me.password-old')}</label>
      <input id="old-password" name="old" type="password" required autocomplete="current-password" /></div>
    <${NewPassword} label=${say('me.password-new')} />
    <${Problem} error=${error} />
    <${Turn} />
    <button class="button">${say('me.password-save')}</button>
    <span role="status">${done && say('me.password-saved')}</span>
  </form>`;
}
