// A fixture that is not done now: a problem, or skipped; a reason of the trade, words, and photos of it.

import { useEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { keep, kept } from '../../store/kept.js';
import { useWaitingPhotos } from '../photos/waiting_photos.js';
import { choiceText, say } from '../words.js';
import { OF_STOP, REASONS } from './reasons.js';

const NOTHING = { outcome: '', why: '', reason: '' };

/** @typedef {{outcome: string, why: string, reason: string}} Typed */
/** @typedef {{code: string, facts: Facts}} Said */

/**
 * What is half typed, and the photos taken, are there again after the app was closed.
 *
 * @param {{site: Site, busy: boolean, onTold: (told: import('./outcome.js').FromForm, photos: Blob[]) => void, draft: string, stopped: number, stops: Said[]}} props
 */
export function NotDone({ site, busy, onTold, draft, stopped, stops }) {
  const [typed, setTyped] = useState(/** @returns {Typed} */ () => ({ ...NOTHING, ...kept(draft) }));
  const { outcome, why, reason } = typed;
  const form = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    if (stopped > 0) type({ ...typed, outcome: 'problem' });
  }, [stopped]);
  useEffect(() => {
    if (stopped > 0 && outcome === 'problem') {
      form.current?.scrollIntoView({ block: 'start' });
      form.current?.focus({ preventScroll: true });
    }
  }, [stopped, outcome]);
  const [photos, setPhotos] = useWaitingPhotos(site, draft);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {Typed} next */
  const type = (next) => {
    setTyped(next);
    keep(draft, next.outcome ? next : undefined);
  };
  const back = () => {
    type(NOTHING);
    setPhotos([]);
  };
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const problem = why.trim();
    // 'Other' says nothing by itself.
    if (!problem && (!reason || reason === 'other')) return setError({ code: 'crew.say-why' });
    setError(null);
    onTold({ outcome, ...(reason && { reason }), ...(problem && { problem }) }, photos);
  };
  if (!outcome) {
    return html`<div class="side-by-side">
      <button type="button" class="button danger" onClick=${() => type({ ...typed, outcome: 'problem' })}>${say('crew.a-problem')}</button>
      <button type="button" class="button" onClick=${() => type({ ...typed, outcome: 'skipped', reason: '' })}>${say('crew.skip-it')}</button>
    </div>`;
  }
  const isProblem = outcome === 'problem';
  return html`<form class="card" ref=${form} tabindex="-1" onSubmit=${submit} aria-label=${isProblem ? say('crew.a-problem') : say('crew.skipped')}>
    ${isProblem && html`<${StopReasons} stops=${stops} why=${why} onStop=${(/** @type {Said} */ stop) => type({ outcome, why: say(stop.code, stop.facts), reason: OF_STOP[stop.code] ?? 'other' })} />`}
    <${ReasonSelect} reasons=${REASONS[outcome]} value=${reason} onReason=${(/** @type {string} */ next) => type({ ...typed, reason: next })} />
    <div class="field">
      <label for="why">${isProblem ? say('crew.what-is-the-problem') : say('crew.why-is-it-skipped')}</label>
      <textarea id="why" maxlength="2000" value=${why} aria-invalid=${error ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type({ ...typed, why: event.currentTarget.value })}></textarea>
      <${Problem} error=${error} />
    </div>
    ${isProblem && html`<${PhotosToAdd} photos=${photos} onAdd=${(/** @type {Blob} */ blob) => setPhotos([...photos, blob])} />`}
    <button class="button main" disabled=${busy}>${say('page.save')}</button>
    <button type="button" class="button plain" onClick=${back}>${say('page.back')}</button>
  </form>`;
}

/** @param {{reasons: string[], value: string, onReason: (reason: string) => void}} props */
export function ReasonSelect({ reasons, value, onReason }) {
  return html`<div class="field">
    <label for="reason">${say('card.reason')}</label>
    <select id="reason" value=${value} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onReason(event.currentTarget.value)}>
      <option value="" selected=${value === ''}>–</option>
      ${reasons.map((each) => html`<option key=${each} value=${each} selected=${each === value}>${choiceText(each)}</option>`)}
    </select>
  </div>`;
}

/** The card's reasons to stop, to start the words with. @param {{stops: Said[], why: string, onStop: (stop: Said) => void}} props */
function StopReasons({ stops, why, onStop }) {
  if (stops.length === 0) return null;
  return html`<fieldset class="reasons">
    <legend class="label">${say('crew.is-it-one-of-these')}</legend>
    ${stops
      .map((stop) => ({ stop, text: say(stop.code, stop.facts) }))
      .map(
        ({ stop, text }) => html`<label class="check-line" key=${text}>
        <input type="radio" name="reason" checked=${why.startsWith(text)} onChange=${() => onStop(stop)} />
        <span>${text}</span>
      </label>`,
      )}
  </fieldset>`;
}

/** Photos that wait for the record they will belong to. @param {{photos: Blob[], onAdd: (blob: Blob) => void}} props */
function PhotosToAdd({ photos, onAdd }) {
  /** @param {EventOf<HTMLInputElement>} event */
  const take = (event) => {
    const [blob] = event.currentTarget.files ?? [];
    if (blob) onAdd(blob);
    event.currentTarget.value = '';
  };
  return html`<label class="button camera">
    <input type="file" accept="image/*" capture="environment" onChange=${take} />
    <span>${say('crew.take-a-photo-of-it')}${photos.length > 0 ? ` (${photos.length})` : ''}</span>
  </label>`;
}
