// A one-time link that was made just now: to be scanned from this screen, copied, or sent on. It is shown only here.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { say, timeText } from '../words.js';

/** @typedef {{id: string, kind: 'invite' | 'reset', address: string, qr: string[], expires_at: string}} LinkMade */

/** Light modules around a QR code that a reader needs (ISO/IEC 18004: from memory). */
const QUIET = 4;

/** @param {{link: LinkMade, title: string}} props */
export function LinkCard({ link, title }) {
  const [copied, setCopied] = useState(false);
  const copy = () => navigator.clipboard.writeText(link.address).then(() => setCopied(true));
  const share = () => navigator.share({ url: link.address }).catch(() => {});
  return html`<section class="card link-card" aria-label=${title}>
    <h3>${title}</h3>
    <p>${say('people.link-good-until', { time: timeText(link.expires_at) })} ${say('people.link-warning')}</p>
    <${QrCode} rows=${link.qr} />
    <div class="field"><label for=${`link-${link.id}`}>${say('people.link-address')}</label>
      <input id=${`link-${link.id}`} class="measure" readonly value=${link.address} onFocus=${(/** @type {EventOf<HTMLInputElement>} */ event) => event.currentTarget.select()} /></div>
    <div class="side-by-side">
      ${'clipboard' in navigator && html`<button type="button" class="button" onClick=${copy}>${say('people.copy')}</button>`}
      ${'share' in navigator && html`<button type="button" class="button" onClick=${share}>${say('people.share')}</button>`}
      <span role="status">${copied && say('people.copied')}</span>
    </div>
  </section>`;
}

/** @param {{rows: string[], label?: string}} props rows of 0 and 1, and what they are */
export function QrCode({ rows, label = say('people.link-qr') }) {
  const size = rows.length + 2 * QUIET;
  const dark = rows.flatMap((row, y) =>
    [...row].map((cell, x) => (cell === '1' ? `M${x + QUIET} ${y + QUIET}h1v1h-1z` : '')),
  );
  return html`<svg class="qr-code" viewBox=${`0 0 ${size} ${size}`} role="img" aria-label=${label} shape-rendering="crispEdges">
    <rect width=${size} height=${size} fill="#fff" /><path d=${dark.join('')} fill="#000" />
  </svg>`;
}
