// Parts of the desk: the frame with its screens, tables, numbers, and answers of the server.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { html } from '../html.js';
import { numberText } from '../numbers.js';
import { DeskPlaces, useMedia, WIDE } from '../parts/bar.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { NotHeard } from '../parts/when_heard.js';
import { say } from '../words.js';
import { againInMs, BeingPlanned } from './being_planned.js';
import { usePrintedWhole } from './fold.js';

export { Window } from '../parts/window.js';

/** The screen above: the firm's catalogue has no desk but its own. @param {Site} site @param {string} at */
function backOf(site, at) {
  if (site.isCatalogue) return '/';
  return `/s/${site.id}${at === '' ? '' : '/desk'}`;
}

/** @param {{site: Site, at: string, title: string, back?: string, children?: Child}} props `back`: the screen above, where it is not the desk; `at`: below the desk's address */
export function Desk({ site, at, title, back, children }) {
  const wide = useMedia(WIDE);
  usePrintedWhole();
  return html`<${Page} title=${title} over=${site.name} back=${back ?? backOf(site, at)} look="desk" site=${site.id}>
    ${
      !wide &&
      html`<details class="desk-nav" key=${at}>
      <summary>${say('place.desk')}: ${title}</summary>
      <nav aria-label=${say('place.desk')}><${DeskPlaces} site=${site.id} role=${site.role} /></nav>
    </details>`
    }
    <${NotHeard} site=${site} />
    ${children}
  <//>`;
}

/** @template [T=unknown] @typedef {{told: T | undefined, error: unknown}} Answered what came, and what went wrong */

/**
 * An answer of the server, asked for again when `deps` change; the old one stays in view meanwhile. It is not asked while
 * there is no path yet. Where it rests on the plan of a large site that is being made, it is asked for again until that is there.
 *
 * @template [T=unknown] what is answered
 * @param {string | null} path @param {unknown[]} deps
 * @returns {Answered<T>}
 */
export function useServer(path, deps) {
  const [state, setState] = useState(/** @type {Answered<T>} */ ({ told: undefined, error: null }));
  useEffect(() => {
    if (path === null) return undefined;
    const gone = new AbortController();
    let later = 0;
    const ask = () =>
      askServer(path, { signal: gone.signal }).then(
        (told) => setState({ told: /** @type {T} */ (told), error: null }),
        (error) => {
          if (gone.signal.aborted) return;
          setState((before) => ({ ...before, error }));
          if (againInMs(error)) later = window.setTimeout(ask, againInMs(error));
        },
      );
    ask();
    return () => {
      window.clearTimeout(later);
      gone.abort();
    };
  }, [path, ...deps]);
  return state;
}

/** What the server said, or that it is being asked. @template T @param {{answer: Answered<T>, children: (told: T) => Child}} props */
export function Answer({ answer, children }) {
  return html`${againInMs(answer.error) ? html`<${BeingPlanned} error=${answer.error} />` : html`<${Problem} error=${answer.error} />`}
    ${answer.told ? children(answer.told) : !answer.error && html`<p role="status">${say('desk.asking-the-server')}</p>`}`;
}

/**
 * A table for work; on a phone it scrolls in its own box.
 *
 * @param {{caption: string, heads: Child[], rows: Child[][], numbers?: number[], stacks?: boolean}} props `numbers`: columns
 *   set to the right; `stacks`: on a phone each row stands by itself, its cells below one another with their heads
 */
export function Table({ caption, heads, rows, numbers = [], stacks = false }) {
  const look = (/** @type {number} */ column) => (numbers.includes(column) ? 'number' : undefined);
  // The roles are said because a table that is drawn as blocks is none to some browsers.
  return html`<div class="table-box ${stacks ? 'stacks' : ''}" role="region" aria-label=${caption} tabindex="0">
    <table role="table">
      <caption>${caption}</caption>
      <thead role="rowgroup"><tr role="row">${heads.map((head, column) => html`<th scope="col" role="columnheader" class=${look(column)}>${head}</th>`)}</tr></thead>
      <tbody role="rowgroup">${rows.map(
        (cells) =>
          html`<tr role="row">${cells.map((cell, column) =>
            column === 0
              ? html`<th scope="row" role="rowheader">${cell}</th>`
              : html`<td role="cell" class=${look(column)} data-head=${stacks ? heads[column] : undefined}>${cell}</td>`,
          )}</tr>`,
      )}</tbody>
    </table>
  </div>`;
}

/** A number to read; '–' where there is none. @param {number | null | undefined} value @param {number} [digits] */
export function number(value, digits = 0) {
  if (value === null || value === undefined) return '–';
  return numberText(value, digits);
}

/** Whole units of a currency to read; '–' where there is no such sum. @param {number | null | undefined} value @param {string} currency */
export const amount = (value, currency) =>
  value === null || value === undefined ? '–' : `${currency} ${number(value)}`;

/** How much of something is done, in words and as a line. @param {{title: string, complete: number, known: number}} props */
export function Share({ title, complete, known }) {
  return html`<div class="share">
    <p>${title}: <span class="measure strong">${say('desk.complete-of-known', { complete: number(complete), known: number(known) })}</span></p>
    <progress max=${known || 1} value=${complete} aria-label=${title}></progress>
  </div>`;
}

/** Figures set for the site on which something rests. @param {{values: Array<{code: string, facts: Facts}>}} props */
export function SiteValues({ values }) {
  if (!values?.length) return null;
  return html`<div class="notice stack" role="note" aria-label=${say('page.figures-set-for-this-site')}>
    ${values.map(({ code, facts }) => html`<p key=${`${facts.row} ${facts.figure}`}>${say(code, facts)}</p>`)}
  </div>`;
}
