// Small parts without a life of their own: rows, marks, cautions, problems.

import { html } from '../html.js';
import { sayError } from '../words.js';

/** A row of a list that leads somewhere. @param {{href: string, title: Child, detail?: Child, more?: Child, end?: Child}} props */
export function Row({ href, title, detail, more, end }) {
  return html`<li>
    <a class="row" href=${href}>
      <span><span class="title">${title}</span>${detail && html`<span class="detail">${detail}</span>`}${more}</span>
      <span class="end">${end}</span>
    </a>
  </li>`;
}

/** A word in a box beside a row. @param {{look?: 'attention' | 'done' | 'unsent' | '', children?: Child}} props */
export function Mark({ look = '', children }) {
  return html`<span class="mark ${look}">${children}</span>`;
}

/** What can hurt, at the step where it can. @param {{children?: Child}} props */
export function Caution({ children }) {
  return html`<div class="caution" role="note">${children}</div>`;
}

/** What went wrong, beside what it is about. @param {{error: unknown, id?: string}} props */
export function Problem({ error, id }) {
  return error ? html`<p class="problem" role="alert" id=${id}>${sayError(error)}</p>` : null;
}

/** Names and values. @param {{facts: Array<[string, Child]>}} props */
export function Facts({ facts }) {
  return html`<dl class="facts">
    ${facts.map(([name, value]) => html`<dt>${name}</dt><dd class="measure">${value}</dd>`)}
  </dl>`;
}
