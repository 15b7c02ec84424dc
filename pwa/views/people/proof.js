// Showing a second factor: the field for a code, the button for a passkey; and waiting after wrong tries.

import { useEffect, useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { mayPasskey, showPasskey } from './passkey.js';

/** @typedef {import('./passkey.js').Json} Json */
/** What is shown of a second factor. @typedef {{code?: string, passkey?: Json}} Shown */
/** What the server would take, and what a passkey is asked. @typedef {{methods: string[], passkey?: Json}} Wanted */
/** @typedef {{code?: string, facts?: {seconds?: number, methods?: string[], passkey?: Json}}} Refused */

const SECOND_MS = 1000;
const SLOWED = ['sign-in-too-often', 'passwords-busy'];

/** What the server would take, if a refusal says so. @param {unknown} error @param {string} code @returns {Wanted | null} */
export function wantedBy(error, code) {
  const { code: said, facts } = /** @type {Refused} */ (error ?? {});
  return said === code && facts?.methods ? { methods: facts.methods, passkey: facts.passkey } : null;
}

/** The seconds that are left until the next try is taken, after a refusal that says so. @param {unknown} error */
export function useWait(error) {
  const [left, setLeft] = useState(0);
  useEffect(() => {
    const { code = '', facts } = /** @type {Refused} */ (error ?? {});
    setLeft(SLOWED.includes(code) ? (facts?.seconds ?? 0) : 0);
  }, [error]);
  useEffect(() => {
    if (left <= 0) return undefined;
    const timer = setTimeout(() => setLeft(left - 1), SECOND_MS);
    return () => clearTimeout(timer);
  }, [left]);
  return left;
}

/** @param {{wanted: Wanted, onPasskey: (shown: Shown) => void}} props the field is named `code`; a passkey is told at once */
export function ProofFields({ wanted, onPasskey }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const { passkey } = wanted;
  const show = async () => {
    setError(null);
    try {
      onPasskey({ passkey: await showPasskey(passkey ?? {}) });
    } catch {
      setError({ code: 'proof.passkey-failed', facts: {} });
    }
  };
  return html`${
    passkey &&
    mayPasskey() &&
    html`<button type="button" class="button wide" onClick=${show}>${say('proof.passkey')}</button><${Problem} error=${error} />`
  }
  <div class="field">
    <label for="proof-code">${say('proof.code')}</label>
    <input id="proof-code" name="code" autocomplete="one-time-code" inputmode="text" autocapitalize="off" spellcheck="false"
      required maxlength="40" autofocus />
  </div>`;
}
