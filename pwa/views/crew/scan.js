// Scan a label, or type its code; either leads to the fixture.

import { useId, useState } from 'preact/hooks';
import { parseCode, spaced } from '../../rules/codes.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { Camera } from './camera.js';
import { choosePath, fixtureOfCode } from './find_label.js';

/** @param {{site: Site}} props */
export function Scan({ site }) {
  const [told, setTold] = useState('');
  const [unknown, setUnknown] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} code */
  const open = async (code) => {
    const path = await fixtureOfCode(site, code);
    if (path) navigate(path);
    else setUnknown(code);
  };
  /** @param {string} text */
  const scanned = (text) => {
    const { code } = parseCode(text);
    if (!code) setTold(say('crew.not-our-label'));
    else open(code);
  };
  /** @param {string} text */
  const typed = (text) => {
    const { code, error: wrong } = parseCode(text);
    setError(wrong ?? null);
    setUnknown('');
    if (code) open(code);
  };
  return html`<${Page} title=${say('crew.scan-a-label')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${unknown ? html`<${Unknown} site=${site} code=${unknown} onAgain=${() => setUnknown('')} />` : html`<${Camera} onText=${scanned} />`}
    <p role="status" class="muted">${told}</p>
    <${TypeCode} onCode=${typed} error=${error} />
    <a class="button wide" href=${`/s/${site.id}/work`}>${say('crew.what-there-is-to-do')}</a>
    ${!unknown && html`<a class="button wide" href=${`/s/${site.id}/choose`}>${say('crew.no-label-choose-the-fixture')}</a>`}
  <//>`;
}

/** @param {{onCode: (text: string) => void, error: unknown}} props */
function TypeCode({ onCode, error }) {
  const id = useId();
  const [text, setText] = useState('');
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    onCode(text);
  };
  return html`<form class="card" onSubmit=${submit}>
    <div class="field">
      <label for=${id}>${say('crew.code-under-the-qr')}</label>
      <input id=${id} class="code-entry measure" value=${text} autocomplete="off" autocapitalize="characters" spellcheck="false"
        aria-invalid=${error ? 'true' : 'false'} aria-describedby=${error ? `${id}-problem` : undefined}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setText(event.currentTarget.value)} />
      <${Problem} error=${error} id=${`${id}-problem`} />
    </div>
    <button class="button main">${say('crew.open')}</button>
  </form>`;
}

/** @param {{site: Site, code: string, onAgain: () => void}} props */
function Unknown({ site, code, onAgain }) {
  return html`<section class="notice stack" aria-label=${say('crew.code-not-known-here')}>
    <p role="alert">${say('label.code-unknown', { code: spaced(code) })}</p>
    <a class="button main" href=${choosePath(site.id, code)}>${say('crew.choose-the-fixture')}</a>
    <button type="button" class="button" onClick=${onAgain}>${say('crew.scan-again')}</button>
  </section>`;
}
