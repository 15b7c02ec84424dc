// The frame of every screen: its title and the way back, its content, the sync line at the foot.

import { useEffect } from 'preact/hooks';
import { html } from '../html.js';
import { SyncLine } from './sync_line.js';
import { say } from '../words.js';

/**
 * @param {object} props
 * @param {string} props.title
 * @param {string} [props.over] what it is part of, small above the title
 * @param {string} [props.back] address of the screen above
 * @param {Child} [props.end] at the right of the title
 * @param {string} [props.look] further class of the page, as 'desk'
 * @param {string | null} [props.site] id of the site, for what the sync line leads to
 * @param {Child} [props.children]
 */
export function Page({ title, over, back, end, look = '', site = null, children }) {
  useEffect(() => {
    document.title = `${title} · Spanwalk`;
  }, [title]);
  return html`<div class="page ${look}">
    <header class="top">
      ${back ? html`<a class="back" href=${back} aria-label=${say('page.back')}>←</a>` : html`<span></span>`}
      <h1>${over && html`<span class="over">${over}</span>`}${title}</h1>
      <div>${end}</div>
    </header>
    <main>${children}</main>
    <${SyncLine} site=${site} />
  </div>`;
}
