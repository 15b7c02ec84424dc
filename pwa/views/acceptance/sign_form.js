// The customer signs on the glass: a name, a drawn signature or the typed name alone, and what it is put to.

import { useState } from 'preact/hooks';
import { textOf } from '../../rules/acceptance.js';
import { sha256OfBytes } from '../../store/fingerprint.js';
import { draftOf } from '../drafts.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { pictureOf, SignaturePad } from '../today/signature_pad.js';
import { say } from '../words.js';

/** @typedef {import('../../rules/acceptance.js').Statement} Statement */

/** As much as one push takes, with room for what stands beside it [bytes]. */
const SHOWN_BYTES_MOST = 1_500_000;

/** @param {{site: Site, subject: string, shown: Statement}} props */
export function SignForm({ site, subject, shown }) {
  const draft = draftOf(site.id, `accept.${subject}`);
  const [name, setName] = useState(String(draft.at ?? ''));
  const [drawn, setDrawn] = useState(/** @type {HTMLCanvasElement | null} */ (null));
  const [seen, setSeen] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(false);
  const text = textOf(shown.lines);
  const begin = (/** @type {HTMLCanvasElement | null} */ canvas) => {
    setDrawn(canvas);
    if (canvas && !drawn) setSeen(text);
  };
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = wrongIn(name, text, drawn ? seen : text);
    if (wrong) {
      setSeen(text);
      return setError({ code: wrong });
    }
    setError(null);
    try {
      await sign(site, subject, shown, name.trim(), drawn && (await pictureOf(drawn)));
      draft.forget();
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
          setName(event.currentTarget.value);
          setError(null);
          draft.keep(event.currentTarget.value);
        }} />
    </div>
    <${SignaturePad} onDrawn=${begin} />
    <${Problem} error=${error} />
    <button class="button main">${say(drawn ? 'sign.sign' : 'sign.sign-by-name')}</button>
  </form>`;
}

/** Why it cannot be signed as it stands, or null. @param {string} name @param {string} text what is shown now @param {string} seen what was shown when the signature was begun */
function wrongIn(name, text, seen) {
  if (!name.trim()) return 'sign.name-missing';
  if (text !== seen) return 'acceptance.changed-meanwhile';
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
  await site.save([{ record, type: 'acceptance', facet: 'identity', seen: null, value }]);
  if (signature) await site.addPhoto({ subject: record, purpose: 'signature', blob: signature });
}
