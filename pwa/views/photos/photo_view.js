// One photo, large: zoom, what it shows, caption, an arrow beside its bytes, and the way to take it away and back.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { store } from '../../store/store.js';
import { dateText } from '../numbers.js';
import { mayWrite, parentPath, titleOf } from '../record_screens.js';
import { choiceText, say } from '../words.js';
import { ArrowOver, ArrowTools, useArrow } from './arrow.js';
import { asTaken, purposesToChoose } from './purposes.js';
import { Zoomable } from './zoomable.js';

const USUAL_SIZE = { width: 1600, height: 1200 };

/** @typedef {{photo: RecordView<'photo'> | null, subject: RecordView | null, beside: RecordView<'photo'>[]}} PhotoRead */

/** @param {Site} site @param {string} id @returns {Promise<PhotoRead>} */
async function readPhoto(site, id) {
  const photo = /** @type {RecordView<'photo'> | undefined} */ (await site.get(id));
  const of = photo?.facets.identity?.subject;
  if (!photo || !of) return { photo: photo ?? null, subject: null, beside: [] };
  const [subject, beside] = await Promise.all([site.get(of), site.referring(of, 'photo')]);
  return { photo, subject: subject ?? null, beside: asTaken(beside) };
}

/** Where one came from, if that is in this site; else the screen of what the photo is of. @param {Site} site @param {RecordView | null} subject */
function backTo(site, subject) {
  const from = new URLSearchParams(location.search).get('from') ?? '';
  if (from.startsWith(`/s/${site.id}/`)) return from;
  return subject ? parentPath(site, subject) : `/s/${site.id}`;
}

/** @param {{site: Site, params: {id: string}}} props */
export function PhotoView({ site, params: { id } }) {
  const read = useLive(() => readPhoto(site, id), [id]);
  const [removed, setRemoved] = useState(false);
  if (!read) return null;
  const { photo, subject } = read;
  const back = backTo(site, subject);
  if (!photo)
    return html`<${Page} title=${say('photos.photo')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  if (photo.removed)
    return html`<${Gone} site=${site} id=${id} back=${back} removed=${removed} onBack=${() => setRemoved(false)} />`;
  return html`<${Shown} key=${id} site=${site} read=${read} photo=${photo} back=${back} onRemoved=${() => setRemoved(true)} />`;
}

/** @param {{site: Site, read: PhotoRead, photo: RecordView<'photo'>, back: string, onRemoved: () => void}} props */
function Shown({ site, read: { subject, beside }, photo, back, onRemoved }) {
  const url = useLive(() => site.photoUrl(photo.facets.identity?.sha256 ?? ''), [photo.id]);
  const { identity, caption } = photo.facets;
  const [natural, setNatural] = useState(USUAL_SIZE);
  const size =
    identity?.width_px && identity.height_px
      ? { width: identity.width_px, height: identity.height_px }
      : natural;
  const arrow = useArrow(site, photo, size);
  const purpose = choiceText(identity?.purpose ?? 'other');
  const name = [purpose, caption?.caption].filter(Boolean).join(': ');
  /** @param {EventOf<HTMLImageElement>} event */
  const loaded = ({ currentTarget: { naturalWidth: width, naturalHeight: height } }) =>
    setNatural({ width, height });
  return html`<${Page} title=${say('photos.titled', { purpose })} over=${subject ? titleOf(subject) : say('photos.photo')} back=${back} site=${site.id} look="form">
    ${photo.conflicts.length > 0 && html`<a class="notice bad" href=${`/s/${site.id}/conflicts`}>${say('survey.two-people-entered-different-things')}</a>`}
    ${
      url
        ? html`<${Zoomable} label=${name} ratio=${size.width / size.height} onPoint=${arrow.drawing ? arrow.point : undefined} onKey=${arrow.key}>
          <img src=${url} alt=${name} onLoad=${loaded} />
          <${ArrowOver} arrow=${arrow.shown} size=${size} />
        <//>`
        : url === null && html`<p class="notice">${say('view.photo-not-here', { photo: name })}</p>`
    }
    ${url && mayWrite(site, 'photo', 'mark') && html`<${ArrowTools} site=${site} arrow=${arrow} />`}
    <${Beside} site=${site} photos=${beside} here=${photo.id} back=${back} />
    <p class="small muted">${takenText(photo)}</p>
    ${mayWrite(site, 'photo') && html`<${About} site=${site} photo=${photo} onRemoved=${onRemoved} />`}
  <//>`;
}

/** When it was taken and by whom, as far as that is known. @param {RecordView<'photo'>} photo */
function takenText({ facets, by, via }) {
  const at = facets.identity?.taken_at;
  const who = store.whoSaid({ by, via });
  return at && !Number.isNaN(Date.parse(at))
    ? say('photos.taken-on', { date: dateText(new Date(at)), who })
    : say('photos.taken-by', { who });
}

/** The photo before and the one after, of the same thing. @param {{site: Site, photos: RecordView<'photo'>[], here: string, back: string}} props */
function Beside({ site, photos, here, back }) {
  const place = photos.findIndex(({ id }) => id === here);
  if (photos.length < 2) return null;
  /** @param {RecordView<'photo'> | undefined} photo @param {string} word */
  const link = (photo, word) =>
    photo &&
    html`<a class="button" href=${`/s/${site.id}/photo/${photo.id}?from=${encodeURIComponent(back)}`}>${word}</a>`;
  return html`<nav class="side-by-side" aria-label=${say('photos.of-the-same')}>
    ${link(photos[place - 1], say('photos.before'))}
    ${link(photos[place + 1], say('photos.after'))}
    <span class="small muted place-among">${say('photos.place-among', { place: place + 1, of: photos.length })}</span>
  </nav>`;
}

/** @param {{site: Site, photo: RecordView<'photo'>, onRemoved: () => void}} props */
function About({ site, photo, onRemoved }) {
  const [typed, setTyped] = useState(photo.facets.caption?.caption ?? '');
  const [told, setTold] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {Promise<unknown>} saving @param {() => void} then */
  const after = (saving, then) => {
    setError(null);
    saving.then(then, setError);
  };
  /** @param {string} facet @param {Value} value */
  const save = (facet, value) => {
    const seen = photo.seen[facet] ?? null;
    after(site.save([{ record: photo.id, type: 'photo', facet, value, seen }]), () => setTold(told + 1));
  };
  /** @param {Event} event */
  const caption = (event) => {
    event.preventDefault();
    save('caption', typed.trim() ? { caption: typed.trim() } : {});
  };
  const { choices } = site.spec.records.photo.facets.identity.fields.purpose;
  const now = photo.facets.identity?.purpose;
  return html`<section class="stack" aria-label=${say('photos.about')}>
    <form class="stack" onSubmit=${caption}>
      <div class="field">
        <label for="caption">${say('photos.caption')}</label>
        <input id="caption" value=${typed} maxlength="300" autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setTyped(event.currentTarget.value)} />
      </div>
      <button class="button">${say('photos.save-caption')}</button>
    </form>
    <div class="field">
      <label for="purpose">${say('photos.it-shows')}</label>
      <select id="purpose" value=${now} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => save('identity', { ...photo.facets.identity, parent: photo.parent, purpose: event.currentTarget.value })}>
        ${purposesToChoose(choices, now).map((choice) => html`<option key=${choice} value=${choice} selected=${choice === now}>${choiceText(choice)}</option>`)}
      </select>
    </div>
    <${Problem} error=${error} />
    ${told > 0 && html`<${Saved} site=${site} key=${told} onUndone=${() => site.get(photo.id).then((back) => setTyped(/** @type {RecordView<'photo'> | undefined} */ (back)?.facets.caption?.caption ?? ''))} />`}
    <button type="button" class="button plain danger" onClick=${() => after(site.remove(photo.id), onRemoved)}>${say('photos.remove')}</button>
  </section>`;
}

/** A photo that was taken away: here just now, or some time ago. @param {{site: Site, id: string, back: string, removed: boolean, onBack: () => void}} props */
function Gone({ site, id, back, removed, onBack }) {
  return html`<${Page} title=${say('photos.photo')} back=${back} site=${site.id}>
    ${
      removed
        ? html`<${Saved} site=${site} onUndone=${onBack}>${say('photos.removed')}<//>`
        : html`<div class="notice stack"><p>${say('photos.has-been-removed')}</p>
          ${mayWrite(site, 'photo') && html`<button type="button" class="button" onClick=${() => site.restore(id)}>${say('page.bring-it-back')}</button>`}</div>`
    }
    <a class="button main" href=${back}>${say('photos.on')}</a>
  <//>`;
}
