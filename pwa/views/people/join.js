// Coming by a one-time link: its secret stands after '#' in the address, which no browser sends, and leaves it at once.

import { useEffect, useRef, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Turn } from '../parts/turn.js';
import { say } from '../words.js';
import { NewPassword } from './new_password.js';
import { ProofFields, useWait, wantedBy } from './proof.js';

/** @typedef {{kind: 'invite' | 'reset', firm: boolean, owner: boolean, site: string | null, role: string | null, name: string | null, made_by: string | null}} Told */

export function Join() {
  const [secret] = useState(() => location.hash.slice(1));
  const [told, setTold] = useState(/** @type {Told | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  useEffect(() => {
    // Neither the browser's history nor who looks over a shoulder keeps it.
    history.replaceState(history.state, '', location.pathname);
    if (secret)
      askServer('/api/links/open', { method: 'POST', body: { secret } }).then(
        (opened) => setTold(/** @type {Told} */ (opened)),
        setError,
      );
  }, []);
  const kind = location.pathname === '/reset' ? 'reset' : 'invite';
  return html`<${Page} title=${say(`join.title.${kind}`)}>
    ${!secret && html`<p class="notice bad" role="alert">${say('join.no-link')}</p>`}
    ${secret && !told && !error && html`<p role="status">${say('join.opening')}</p>`}
    ${told ? html`<${Opened} told=${told} secret=${secret} />` : html`<${Problem} error=${error} />`}
  <//>`;
}

/** @param {string | null} site */
const goTo = (site) => navigate(site ? `/s/${site}` : '/', { replace: true });

/** @param {{told: Told, secret: string}} props */
function Opened({ told, secret }) {
  const here = store.person;
  const { kind, site, name, made_by: by } = told;
  const role = told.role ? say(`people.role.${told.role}`) : '';
  const whereto = told.firm ? 'firm' : 'invited';
  return html`<section class="stack">
    <p class="strong">${kind === 'invite' ? say(`join.${whereto}${by ? '' : '-by-nobody'}`, { by, site, role }) : say('join.reset-for', { name })}</p>
    ${told.owner && html`<p>${say('join.firm-owner')}</p>`}
    ${told.firm && site && html`<p>${say('join.firm-sites', { site, role })}</p>`}
    ${kind === 'invite' && told.role && html`<p class="muted">${role}: ${say(`people.may.${told.role}`)}</p>`}
    ${kind === 'invite' && here && html`<${Take} secret=${secret} name=${here.name} firm=${told.firm} />`}
    <${Accept} kind=${kind} secret=${secret} name=${name} firm=${told.firm} />
  </section>`;
}

/** Somebody who is signed in here need not be anybody new. @param {{secret: string, name: string, firm: boolean}} props */
function Take({ secret, name, firm }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const take = async () => {
    try {
      const { site } = /** @type {{site: string | null}} */ (
        await askServer('/api/links/take', { method: 'POST', body: { secret } })
      );
      await store.refresh();
      goTo(site);
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<div class="stack">
    <button type="button" class="button main wide" onClick=${take}>${say(firm ? 'join.firm-take' : 'join.take', { name })}</button>
    <${Problem} error=${error} />
    <p class="notice">${say('join.as-new', { name })}</p>
  </div>`;
}

/** @param {{kind: 'invite' | 'reset', secret: string, name: string | null, firm: boolean}} props */
function Accept({ kind, secret, name, firm }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const [wanted, setWanted] = useState(/** @type {import('./proof.js').Wanted | null} */ (null));
  const wait = useWait(error);
  const form = useRef(/** @type {HTMLFormElement | null} */ (null));
  const submit = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const { code } = Object.fromEntries(new FormData(/** @type {HTMLFormElement} */ (event.currentTarget)));
    enter(wanted ? { code: String(code) } : {});
  };
  /** @param {import('./proof.js').Shown} shown */
  const enter = async (shown) => {
    const told = Object.fromEntries(new FormData(form.current ?? undefined));
    setError(null);
    setBusy(true);
    try {
      goTo(
        await store.acceptLink({
          secret,
          password: String(told.password),
          ...shown,
          ...(kind === 'invite' && { name: String(told.name) }),
        }),
      );
    } catch (refused) {
      const asked = wantedBy(refused, 'second-factor-needed');
      if (asked) setWanted(asked);
      setError(refused);
      setBusy(false);
    }
  };
  return html`<form class="card" ref=${form} onSubmit=${submit} aria-label=${say(`join.title.${kind}`)}>
    ${
      kind === 'invite'
        ? html`<div class="field"><label for="own-name">${say('join.name')}</label>
      <input id="own-name" name="name" required maxlength="80" autocomplete="username" autocapitalize="words" /></div>`
        : html`<input type="text" class="visually-hidden" name="username" autocomplete="username" value=${name} readonly tabindex="-1" aria-hidden="true" />`
    }
    <${NewPassword} label=${say('join.password')} />
    ${wanted && html`<${ProofFields} wanted=${wanted} onPasskey=${enter} />`}
    <${Problem} error=${error} />
    <${Turn} />
    <button class="button main wide" disabled=${busy || wait > 0}>${say(kind === 'reset' ? 'join.save-password' : firm ? 'join.firm-enter' : 'join.enter')}</button>
  </form>`;
}
