// Which fixtures an item or a batch is in: asked by its code or number, listed with rooms, printed.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { say } from '../../words.js';
import { Answer, Desk, Table, useServer } from '../parts.js';

/** @typedef {{heads: string[], rows: string[][], fixtures: {group: string, position: number}[]}} RecallTold */

/** @param {{site: Site}} props */
export function Recall({ site }) {
  const [asked, setAsked] = useState('');
  /** @param {EventOf<HTMLFormElement>} event */
  const look = (event) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const typed = (/** @type {string} */ name) => String(form.get(name) ?? '').trim();
    setAsked(String(new URLSearchParams({ item: typed('item'), serial: typed('serial') })));
  };
  return html`<${Desk} site=${site} at="/recall" title=${say('place.recall')}>
    <p>${say('memory.recall.about')}</p>
    <form class="card stack" onSubmit=${look}>
      <label class="field"><span>${say('memory.recall.item')}</span><input name="item" autocomplete="off" maxlength="200" /></label>
      <label class="field"><span>${say('memory.recall.serial')}</span><input name="serial" autocomplete="off" maxlength="200" /></label>
      <button type="submit" class="button main">${say('memory.recall.look')}</button>
    </form>
    ${asked && html`<${Found} key=${asked} site=${site} asked=${asked} />`}
  <//>`;
}

/** @param {{site: Site, asked: string}} props */
function Found({ site, asked }) {
  const answer = /** @type {import('../parts.js').Answered<RecallTold>} */ (
    useServer(`/api/sites/${site.id}/recall?${asked}`, [])
  );
  return html`<${Answer} answer=${answer}>${(/** @type {RecallTold} */ told) =>
    told.rows.length === 0
      ? html`<p class="notice">${say('memory.recall.none')}</p>`
      : html`<section class="card" aria-label=${say('memory.recall.found', { count: told.rows.length })}>
      <p class="strong">${say('memory.recall.found', { count: told.rows.length })}</p>
      <p class="notice">${say('memory.caution.isolate')}</p>
      <div class="side-by-side">
        <a class="button main" href=${`/api/sites/${site.id}/recall.pdf?${asked}`} download>${say('memory.recall.print')}</a>
        <a class="button" href=${`/api/sites/${site.id}/recall.csv?${asked}`} download>${say('memory.recall.csv')}</a>
      </div>
      <${Table} caption=${say('place.recall')} stacks heads=${told.heads} rows=${told.rows} />
    </section>`}<//>`;
}
