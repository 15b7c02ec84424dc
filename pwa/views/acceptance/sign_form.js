// The customer signs on the glass: a name, a drawn signature or the typed name alone, and what it is put to.

import { useState } from 'preact/hooks';
import { textOf } from '../../rules/installing/acceptance.js';
import { sha256OfBytes } from '../../store/fingerprint.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { useSigning } from '../today/kept_signature.js';
import { pictureOf, SignaturePad } from '../today/signature_pad.js';
import { say } from '../words.js';

/** @typedef {import('../../rules/installing/acceptance.js').Statement} Statement */

/** As much as one push takes, with room for what stands beside it [bytes]. */
const SHOWN_BYTES_MOST = 1_500_000;

/** @param {{site: Site, subject: string, shown: Statement}} props */
export function SignForm({ site, subject, shown }) {
  const text = textOf(shown.lines);
  const signing = useSigning(site, `accept.${subject}`, () => sha256OfBytes(text));
  const { name, drawn } = signing;
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(false);
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setError(null);
    try {
      const wrong =
        wrongIn(name, text) ?? ((await signing.hasChanged()) ? 'acceptance.changed-meanwhile' : null);
      if (wrong) return setError({ code: wrong });
      await sign(site, subject, shown, name.trim(), drawn && (await pictureOf(drawn)));
      signing.forget();
      setSaved(true);
    } catch (problem) {
      setError(problem);
    }
  };
  if (saved) return html`<p class="saved" role="status"><span>${say('sign.saved')}</span></p>`;
  return html`<form class="card" onSubmit=${submit} aria-label=${say('acceptance.sign')}>
    <h2>${say('acceptance.sign')}</h2>
    <p class="muted">${say('acceptance.what-it-means')}</p>
    <div class="field">
      <label for="name">${say('sign.name')}</label>
      <input id="name" maxlength="80" autocomplete="off" value=${name} aria-invalid=${error ? 'true' : 'false'}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => {
          signing.setName(event.currentTarget.value);
          setError(null);
        }} />
    </div>
    <${SignaturePad} strokes=${signing.strokes} wasKept=${signing.wasKept} onReady=${signing.onReady} onStrokes=${signing.onStrokes} />
    <${Problem} error=${error} />
    <button class="button main">${say(drawn ? 'sign.sign' : 'sign.sign-by-name')}</button>
  </form>`;
}

/** Why it cannot be signed as it stands, or null. @param {string} name @param {string} text what is shown */
function wrongIn(name, text) {
  if (!name.trim()) return 'sign.name-missing';
  return new TextEncoder().encode(text).length > SHOWN_BYTES_MOST ? 'acceptance.too-much' : null;
}

/** @param {Site} site @param {string} subject @param {Statement} shown @param {string} name @param {Blob | null} signature */
async function sign(site, subject, shown, name, signature) {
  const record = site.newId();
  const { lines, fixtures, done, open } = shown;
  const value = {
    parent: site.id,
    subject,
    name,
    signed_by: signature ? 'drawn-signature' : 'typed-name',
    content: await sha256OfBytes(textOf(lines)),
    shown: lines,
    fixtures,
    done,
    open,
    noted_at: new Date().toISOString(),
  };
  /** @type {Draft[]} */
  const first = [{ record, type: 'acceptance', facet: 'identity', seen: null, value }];
  // In one go: what is said to be signed by hand is never here without the picture.
  if (signature) await site.addPhoto({ subject: record, purpose: 'signature', blob: signature, first });
  else await site.save(first);
}
