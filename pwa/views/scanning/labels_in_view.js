// Which labels of ours are in sight; of two a person chooses.

import { parseCode, spaced } from '../../rules/codes.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { labelPlace } from './find_label.js';

/** The codes of ours among what was read, each once. @param {string[]} texts @returns {string[]} */
export function codesIn(texts) {
  const codes = texts.map((text) => parseCode(text).code ?? '');
  return [...new Set(codes)].filter(Boolean).sort();
}

/** @param {{site: Site, codes: string[], onChoose: (code: string) => void, onAgain: () => void}} props */
export function LabelsInView({ site, codes, onChoose, onAgain }) {
  const places =
    useLive(() => Promise.all(codes.map((code) => labelPlace(site, code))), [codes.join()]) ?? [];
  return html`<section class="card stack" aria-label=${say('scanner.two-in-view')}>
    <p role="alert">${say('scanner.two-in-view')}</p>
    <ul class="rows">
      ${codes.map(
        (code, at) =>
          html`<li key=${code}><button type="button" class="row" onClick=${() => onChoose(code)}><span><span class="title measure">${spaced(code)}</span><span class="detail">${places[at] || say('scanner.place-not-known')}</span></span></button></li>`,
      )}
    </ul>
    <button type="button" class="button" onClick=${onAgain}>${say('crew.scan-again')}</button>
  </section>`;
}
