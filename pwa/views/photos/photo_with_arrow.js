// A photo with its arrow, small: where two are to be told apart.

import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { choiceText, say } from '../words.js';
import { ArrowOver, arrowOf } from './arrow.js';

const USUAL_SIZE = { width: 4, height: 3 };

/** @param {{site: Site, photo: RecordView<'photo'>}} props */
export function PhotoWithArrow({ site, photo }) {
  const { sha256 = '', purpose = 'other', width_px, height_px } = photo.facets.identity ?? {};
  const url = useLive(() => site.photoUrl(sha256), [sha256]);
  const name = choiceText(purpose);
  if (url === undefined) return null;
  if (url === null) return html`<p class="muted small">${say('view.photo-not-here', { photo: name })}</p>`;
  const size = width_px && height_px ? { width: width_px, height: height_px } : USUAL_SIZE;
  const arrow = arrowOf(photo);
  return html`<div class="zoomable"><div class="zoom-picture" style=${{ '--zoom': '1', '--ratio': String(size.width / size.height) }}>
      <img src=${url} alt=${name} />
      <${ArrowOver} arrow=${arrow} size=${size} />
    </div></div>
    ${!arrow && html`<p class="muted small">${say('photos.no-arrow')}</p>`}`;
}
