// A plan of a floor is brought in: photographed, chosen on the phone, or a page of a PDF that the server draws.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { PhotoButton } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { say } from '../words.js';

const PURPOSE = 'floor-plan';

/** @typedef {{pdf: File, page: number, pages: number, picture: Blob, url: string}} Paged */

/** @param {{site: Site, floor: string}} props */
export function BringPlan({ site, floor }) {
  return html`<div class="photo-prompts">
    <${PhotoButton} site=${site} subject=${floor} purpose=${PURPOSE} label=${say('floor-plan.photograph')} />
    <${PhotoButton} site=${site} subject=${floor} purpose=${PURPOSE} label=${say('photos.from-this-phone')} fromPhone=${true} />
    <${PdfPage} site=${site} floor=${floor} />
  </div>`;
}

/** @param {{site: Site, floor: string}} props */
function PdfPage({ site, floor }) {
  const [paged, setPaged] = useState(/** @type {Paged | null} */ (null));
  const [drawing, setDrawing] = useState(false);
  const [saved, setSaved] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {Paged | null} next */
  const show = (next) => {
    if (paged) URL.revokeObjectURL(paged.url);
    setPaged(next);
  };
  /** @param {Blob} picture */
  const take = async (picture) => {
    await site.addPhoto({ subject: floor, purpose: PURPOSE, blob: picture });
    show(null);
    setSaved((before) => before + 1);
  };
  /** @param {File} pdf @param {number} page */
  const turnTo = async (pdf, page) => {
    setError(null);
    setDrawing(true);
    try {
      const { picture, pages } = await site.planPage(pdf, page);
      if (pages === 1) await take(picture);
      else show({ pdf, page, pages, picture, url: URL.createObjectURL(picture) });
    } catch (problem) {
      setError(problem);
    }
    setDrawing(false);
  };
  /** @param {EventOf<HTMLInputElement>} event */
  const choose = async (event) => {
    const input = event.currentTarget;
    const [pdf] = input.files ?? [];
    if (pdf) await turnTo(pdf, 1);
    input.value = '';
  };
  return html`<div class="field">
    <label class="button camera">
      <input type="file" accept="application/pdf,.pdf" disabled=${drawing} onChange=${choose} />
      <span>${say('floor-plan.from-pdf')}</span>
    </label>
    <p class="help" role="status">${say(drawing ? 'floor-plan.drawing' : 'floor-plan.pdf-help')}</p>
    ${paged && html`<${Pages} paged=${paged} busy=${drawing} onTurn=${(/** @type {number} */ page) => turnTo(paged.pdf, page)} onTake=${() => take(paged.picture).catch(setError)} onLeave=${() => show(null)} />`}
    ${saved > 0 && html`<${Saved} site=${site} key=${saved} />`}
    <${Problem} error=${error} />
  </div>`;
}

/** Which page it is to be. @param {{paged: Paged, busy: boolean, onTurn: (page: number) => void, onTake: () => void, onLeave: () => void}} props */
function Pages({ paged: { page, pages, url }, busy, onTurn, onTake, onLeave }) {
  return html`<section class="card" aria-label=${say('floor-plan.which-page')}>
    <h3>${say('floor-plan.page-of', { page, pages })}</h3>
    <img src=${url} alt=${say('floor-plan.page-of', { page, pages })} />
    <div class="side-by-side">
      <button type="button" class="button" disabled=${busy || page <= 1} onClick=${() => onTurn(page - 1)}>${say('floor-plan.page-before')}</button>
      <button type="button" class="button" disabled=${busy || page >= pages} onClick=${() => onTurn(page + 1)}>${say('floor-plan.page-after')}</button>
      <button type="button" class="button" disabled=${busy} onClick=${onLeave}>${say('floor-plan.leave')}</button>
    </div>
    <button type="button" class="button main" disabled=${busy} onClick=${onTake}>${say('floor-plan.take-page')}</button>
  </section>`;
}
