// Photos of something, and the buttons that take them.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { AT_FACET, asTaken, countByPurpose } from '../photos/purposes.js';
import { mayTakePhotos } from '../record_screens.js';
import { choiceText, counted, say } from '../words.js';
import { Problem } from './parts.js';
import { Saved } from './saved.js';

/**
 * Takes photos, one after the other: the camera opens at once. What was taken is said, with the way back.
 *
 * @param {{site: Site, subject: string, purpose: string, label?: string, fromPhone?: boolean}} props `fromPhone`: pictures that are on the phone already, several at once
 */
export function PhotoButton({ site, subject, purpose, label = say('page.take-a-photo'), fromPhone = false }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [taken, setTaken] = useState(0);
  const [undone, setUndone] = useState(0);
  const [left, setLeft] = useState(/** @type {Blob[]} */ ([]));
  /** @param {Blob[]} blobs */
  const save = async (blobs) => {
    setError(null);
    const notSaved = await saveEach(site, { subject, purpose }, blobs, {
      onSaved: () => setTaken((before) => before + 1),
      onError: setError,
    });
    setLeft(notSaved);
  };
  /** @param {EventOf<HTMLInputElement>} event */
  const take = async (event) => {
    const input = event.currentTarget;
    const blobs = [...(input.files ?? [])];
    if (blobs.length === 0) return;
    await save([...left, ...blobs]);
    input.value = '';
  };
  const now = taken - undone;
  return html`<div class="field">
    <label class="button camera">
      ${
        fromPhone
          ? html`<input type="file" accept="image/*" multiple onChange=${take} />`
          : html`<input type="file" accept="image/*" capture="environment" onChange=${take} />`
      }
      <span>${label}</span>
    </label>
    ${taken > 0 && html`<${Saved} site=${site} key=${taken} onUndone=${() => setUndone(undone + 1)}>${say(now > 1 ? 'photos.several-taken' : 'page.saved-on-this-phone', { photos: counted(now, 'photo') })}<//>`}
    <${Problem} error=${error} />
    <${PhotosLeft} photos=${left} onSave=${() => save(left)} />
  </div>`;
}

/**
 * Save photos one by one; one that is no picture holds up none of the others.
 *
 * @param {Site} site @param {{subject: string, purpose: string}} of @param {Blob[]} blobs
 * @param {{onSaved: () => void, onError: (error: unknown) => void}} tell
 * @returns {Promise<Blob[]>} those for which the phone had no room
 */
async function saveEach(site, of, blobs, { onSaved, onError }) {
  const left = [];
  for (const blob of blobs) {
    try {
      await site.addPhoto({ ...of, blob });
      onSaved();
    } catch (problem) {
      onError(problem);
      if (/** @type {{name?: string}} */ (problem).name === 'NotSaved') left.push(blob);
    }
  }
  return left;
}

/** Photos that the phone had no room for: the camera keeps none of them, so they stay on the screen until they are saved. @param {{photos: Blob[], onSave: () => void}} props */
export function PhotosLeft({ photos, onSave }) {
  if (photos.length === 0) return null;
  return html`<button type="button" class="button" onClick=${onSave}>${say('page.save-again', { photos: counted(photos.length, 'photo') })}</button>`;
}

/** @param {{site: Site, sha256: string, alt: string}} props */
export function Photo({ site, sha256, alt }) {
  const url = useLive(() => site.photoUrl(sha256, { thumb: true }), [sha256]);
  if (url === undefined) return null;
  if (url === null) return html`<p class="muted small">${say('view.photo-not-here', { photo: alt })}</p>`;
  return html`<img src=${url} alt=${alt} />`;
}

/** Address of a photo's own screen, and of the screen to go back to. @param {Site} site @param {string} id */
const fullView = (site, id) => `/s/${site.id}/photo/${id}?from=${encodeURIComponent(location.pathname)}`;

/** @param {Site} site @param {string} subject */
const usePhotos = (site, subject) => useLive(() => site.referring(subject, 'photo'), [subject]);

/** All photos of a record, each with what it was taken for; a tap shows it large. @param {{site: Site, subject: string, only?: string[], first?: RecordView<'photo'>[]}} props `only`: of these purposes; `first`: those that came with the screen, which then does not move when they come */
export function Photos({ site, subject, only, first }) {
  const photos = usePhotos(site, subject) ?? first;
  const shown = asTaken(photos ?? []).filter(
    ({ facets }) => !only || only.includes(facets.identity?.purpose ?? 'other'),
  );
  if (shown.length === 0) return null;
  return html`<ul class="photos" aria-label=${say('page.photos')}>
    ${shown.map((photo) => html`<${Thumbnail} key=${photo.id} site=${site} photo=${photo} />`)}
  </ul>`;
}

/** @param {{site: Site, photo: RecordView<'photo'>}} props */
function Thumbnail({ site, photo }) {
  const { identity, caption, mark } = photo.facets;
  const purpose = choiceText(identity?.purpose ?? 'other');
  const arrow = mark?.to_x === undefined ? '' : say('photos.has-an-arrow');
  const told = [purpose, caption?.caption, arrow].filter(Boolean).join(' · ');
  return html`<li>
    <a class="thumbnail" href=${fullView(site, photo.id)}>
      <${Photo} site=${site} sha256=${identity?.sha256 ?? ''} alt=${told} />
      <span class="small" aria-hidden="true">${told}</span>
    </a>
  </li>`;
}

/**
 * One button for each purpose, at the moment that it matters; what is there already is said on it.
 *
 * @param {{site: Site, subject: string, purposes: string[], fromPhone?: boolean, first?: RecordView<'photo'>[]}} props `fromPhone`: pictures on the phone can be chosen too, for the first purpose; `first`: photos that came with the screen
 */
export function PhotoPrompts({ site, subject, purposes, fromPhone = false, first }) {
  const photos = usePhotos(site, subject) ?? first;
  if (!photos || !mayTakePhotos(site)) return null;
  const counts = countByPurpose(photos);
  return html`<div class="photo-prompts">
    ${purposes.map((purpose) => {
      const label = say(`photos.of-${purpose}`);
      const told = counts[purpose] ? say('photos.so-many', { label, count: counts[purpose] }) : label;
      return html`<${PhotoButton} key=${purpose} site=${site} subject=${subject} purpose=${purpose} label=${told} />`;
    })}
    ${fromPhone && html`<${PhotoButton} site=${site} subject=${subject} purpose=${purposes[0]} label=${say('photos.from-this-phone')} fromPhone=${true} />`}
  </div>`;
}

/** The photo that matters while a facet is filled in, and those that are there. @param {{site: Site, record: RecordView, facet: string}} props */
export function FacetPhotos({ site, record, facet }) {
  const purposes = AT_FACET[`${record.type}.${facet}`];
  if (!purposes) return null;
  return html`<section class="stack" aria-label=${say('page.photos')}>
    <${Photos} site=${site} subject=${record.id} only=${purposes} />
    <${PhotoPrompts} site=${site} subject=${record.id} purposes=${purposes} />
  </section>`;
}
