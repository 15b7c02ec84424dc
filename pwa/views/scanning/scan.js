// Scan a label, or type its code; either leads to the fixture.

import { useId, useState } from 'preact/hooks';
import { parseCode } from '../../rules/codes.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { Camera } from './camera.js';
import { labelState, onAnotherSite } from './find_label.js';
import { Signals, tellRead } from '../crew/heard.js';
import { LabelTold } from './label_told.js';
import { codesIn, LabelsInView } from './labels_in_view.js';
import { StillPicture } from './still_picture.js';

/** @typedef {{code: string, found: import('./find_label.js').LabelState, other: {id: string, name: string} | null}} Unclear */

/** @param {{site: Site}} props */
export function Scan({ site }) {
  const [told, setTold] = useState('');
  const [unclear, setUnclear] = useState(/** @type {Unclear | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [among, setAmong] = useState(/** @type {string[]} */ ([]));
  const lookAgain = () => {
    setUnclear(null);
    setAmong([]);
  };
  /** @param {string} code */
  const open = async (code) => {
    const found = await labelState(site, code);
    if (found.state === 'bound') return navigate(found.path);
    setAmong([]);
    const other = found.state === 'unknown' ? await onAnotherSite(code, site.id) : null;
    setUnclear({ code, found, other });
  };
  /** @param {string[]} texts */
  const scanned = (texts) => {
    const codes = codesIn(texts);
    setTold(codes.length > 0 ? '' : say('crew.not-our-label'));
    if (codes.length > 0) tellRead();
    if (codes.length === 1) open(codes[0]);
    else setAmong(codes);
  };
  /** @param {string} text */
  const typed = (text) => {
    const { code, error: wrong } = parseCode(text);
    setError(wrong ?? null);
    lookAgain();
    if (code) open(code);
  };
  const looks = !unclear && among.length === 0;
  return html`<${Page} title=${say('crew.scan-a-label')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${unclear && html`<${Leads} site=${site} unclear=${unclear} onAgain=${lookAgain} />`}
    ${among.length > 0 && html`<${LabelsInView} site=${site} codes=${among} onChoose=${open} onAgain=${lookAgain} />`}
    ${looks && html`<${Camera} onTexts=${scanned} />`}
    <p role="status" class="muted">${told}</p>
    ${looks && html`<${StillPicture} onTexts=${scanned} onTold=${setTold} />`}
    <${TypeCode} onCode=${typed} error=${error} />
    <a class="button wide" href=${`/s/${site.id}/work`}>${say('crew.what-there-is-to-do')}</a>
    ${!unclear && html`<a class="button wide" href=${`/s/${site.id}/choose`}>${say('crew.no-label-choose-the-fixture')}</a>`}
    ${looks && html`<${Signals} />`}
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

/** A label that leads to no fixture here. @param {{site: Site, unclear: Unclear, onAgain: () => void}} props */
function Leads({ site, unclear: { code, found, other }, onAgain }) {
  return html`<section class="notice stack" aria-label=${say('crew.code-not-known-here')}>
    <${LabelTold} site=${site} code=${code} found=${found} other=${other} />
    <button type="button" class="button" onClick=${onAgain}>${say('crew.scan-again')}</button>
  </section>`;
}
