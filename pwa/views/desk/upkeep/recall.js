// Which fixtures an item or a batch is in: asked by its code or number, listed with rooms, printed.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { say } from '../../words.js';
import { Answer, Desk, Table, useServer } from '../parts.js';

/** @typedef {{group: string, position: number}} Place */
/** What it is in, and what it may be in. @typedef {{heads: string[], rows: string[][], fixtures: Place[], unsure_rows: string[][], unsure_fixtures: Place[], spares: string}} RecallTold */

/** The column that names the fixture. */
const FIXTURE = 2;

/** @param {{site: Site}} props */
export function Recall({ site }) {
  const [asked, setAsked] = useState('');
  /** @param {EventOf<HTMLFormElement>} event */
  const look = (event) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const typed = (/** @type {string} */ name) => String(form.get(name) ?? '').trim();
    setAsked(
      String(
        new URLSearchParams({
          item: typed('item'),
          serial: typed('serial'),
          fitted_from: typed('from'),
          fitted_to: typed('to'),
        }),
      ),
    );
  };
  return html`<${Desk} site=${site} at="/recall" title=${say('place.recall')}>
    <p>${say('memory.recall.about')}</p>
    <form class="card stack" onSubmit=${look}>
      <label class="field"><span>${say('memory.recall.item')}</span><input name="item" autocomplete="off" maxlength="200" /></label>
      <label class="field"><span>${say('memory.recall.serial')}</span><input name="serial" autocomplete="off" maxlength="200" /></label>
      <div class="side-by-side">
        <label class="field"><span>${say('memory.recall.from')}</span><input name="from" type="date" /></label>
        <label class="field"><span>${say('memory.recall.to')}</span><input name="to" type="date" /></label>
      </div>
      <p class="muted small">${say('memory.recall.days-help')}</p>
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
    told.rows.length + told.unsure_rows.length === 0
      ? html`<p class="notice">${say(new URLSearchParams(asked).get('item') ? 'memory.recall.none' : 'memory.recall.none-by-number')}</p>`
      : html`<section class="card" aria-label=${say('memory.recall.found', { count: told.rows.length })}>
      <p class="strong">${say('memory.recall.found', { count: told.rows.length })}</p>
      ${told.spares && html`<p>${told.spares}</p>`}
      <p class="notice">${say('memory.caution.isolate')}</p>
      <div class="side-by-side">
        <a class="button main" href=${`/api/sites/${site.id}/recall.pdf?${asked}`} download>${say('memory.recall.print')}</a>
        <a class="button" href=${`/api/sites/${site.id}/recall.csv?${asked}`} download>${say('memory.recall.csv')}</a>
      </div>
      ${told.rows.length > 0 && html`<${Fixtures} site=${site} caption=${say('place.recall')} heads=${told.heads} rows=${told.rows} fixtures=${told.fixtures} />`}
      ${
        told.unsure_rows.length > 0 &&
        html`<h2>${say('memory.recall.unsure', { count: told.unsure_rows.length })}</h2>
      <p class="notice">${say('memory.recall.unsure-about')}</p>
      <${Fixtures} site=${site} caption=${say('memory.recall.unsure', { count: told.unsure_rows.length })} heads=${told.heads} rows=${told.unsure_rows} fixtures=${told.unsure_fixtures} />`
      }
    </section>`}<//>`;
}

/** @param {{site: Site, caption: string, heads: string[], rows: string[][], fixtures: Place[]}} props */
function Fixtures({ site, caption, heads, rows, fixtures }) {
  const linked = rows.map((cells, place) => {
    const { group, position } = fixtures[place];
    const path = `/s/${site.id}/fixture/${group}/${position}/now`;
    return cells.map((cell, column) =>
      column === FIXTURE ? html`<a class="tall" href=${path}>${cell}</a>` : cell,
    );
  });
  return html`<${Table} caption=${caption} stacks heads=${heads} rows=${linked} />`;
}
