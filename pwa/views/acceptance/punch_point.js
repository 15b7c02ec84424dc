// One point of the punch list: its sentence, where the work for it is done, and how it is closed with the customer.

import { useState } from 'preact/hooks';
import { BY_WORK_ALONE, isOpen } from '../../rules/installing/punch_list.js';
import { facet } from '../../rules/survey.js';
import { draftOf } from '../drafts.js';
import { addWaitingPhotos } from '../../store/waiting_photos.js';
import { html } from '../html.js';
import { useWaitingPhotos } from '../photos/waiting_photos.js';
import { Mark, Problem } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { mayWrite } from '../record_screens.js';
import { fixturePath } from '../scanning/find_label.js';
import { choiceText, say, timeText } from '../words.js';
import { PhotosToAdd } from './photos_to_add.js';

/** @typedef {import('../../rules/installing/punch_list.js').Point} Point */
/** @typedef {{site: Site, survey: import('../../rules/survey.js').Survey, point: Point}} OfPoint */

const LIGHT = 'light';
const OWN = 'own';
const HOWS = ['made-good', 'left-as-agreed'];

/** @param {OfPoint} props */
export function PunchPoint({ site, survey, point }) {
  const path = workPath(site, point);
  return html`<li class="card">
    <p class="strong">${say(point.code, point.facts)}</p>
    ${point.closing && html`<${Photos} site=${site} subject=${point.closing} />`}
    ${isOpen(point) && path && html`<a class="button" href=${path}>${say(point.sort === LIGHT ? 'acceptance.read-light' : 'acceptance.to-fixture')}</a>`}
    ${isOpen(point) ? html`<${Closing} site=${site} point=${point} />` : html`<${Closed} survey=${survey} point=${point} />`}
  </li>`;
}

/** Where the work is done that closes it. @param {Site} site @param {Point} point */
function workPath(site, { sort, room, group, positions }) {
  if (sort === LIGHT) return `/s/${site.id}/light/${room}`;
  return group && positions.length > 0 ? fixturePath(site.id, group, positions[0]) : null;
}

/** @param {{survey: OfPoint['survey'], point: Point}} props */
function Closed({ survey, point }) {
  const record = /** @type {RecordView<'punch_point'> | undefined} */ (survey.get(point.closing));
  const { words, noted_at: at } = facet(record, 'closed');
  return html`<p><${Mark} look="done">${choiceText(point.how)}<//> ${[words, at && timeText(at)].filter(Boolean).join(', ')}</p>`;
}

/** @param {{site: Site, point: Point}} props */
function Closing({ site, point }) {
  if (BY_WORK_ALONE.includes(point.sort))
    return html`<p class="muted small">${say('acceptance.by-work-alone')}</p>`;
  if (!mayWrite(site, 'punch_point', 'closed')) return null;
  return html`<details>
    <summary class="turn">${say('acceptance.close')}</summary>
    <${CloseForm} site=${site} point=${point} />
  </details>`;
}

/** @param {{site: Site, point: Point}} props */
function CloseForm({ site, point }) {
  const draft = draftOf(site.id, `close.${point.key}`);
  const [told, setTold] = useState(/** @type {{how?: string, words?: string}} */ (draft.at ?? {}));
  const [photos, setPhotos] = useWaitingPhotos(site, `close.${point.key}`);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const change = (/** @type {{how?: string, words?: string}} */ more) => {
    setTold({ ...told, ...more });
    draft.keep({ ...told, ...more });
  };
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!told.how) return setError({ code: 'acceptance.how-missing' });
    setError(null);
    try {
      const record = await saveClosing(site, point, told);
      await addWaitingPhotos(site, `close.${point.key}`, { subject: record, purpose: 'after' }, photos);
      draft.forget();
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<form class="stack" onSubmit=${submit} aria-label=${say('acceptance.close')}>
    <fieldset class="plain-set">
      <legend class="label">${say('acceptance.how')}</legend>
      <div class="chips">${HOWS.map(
        (how) => html`<label class="chip" key=${how}>
        <input type="radio" name=${`how ${point.key}`} checked=${told.how === how} onChange=${() => change({ how })} />
        <span>${choiceText(how)}</span>
      </label>`,
      )}</div>
    </fieldset>
    <div class="field">
      <label for=${`words ${point.key}`}>${say('acceptance.close-words')}</label>
      <textarea id=${`words ${point.key}`} rows="2" maxlength="1000" value=${told.words ?? ''}
        onInput=${(/** @type {EventOf<HTMLTextAreaElement>} */ event) => change({ words: event.currentTarget.value })}></textarea>
    </div>
    <${PhotosToAdd} label=${say('page.take-a-photo')} photos=${photos} onAdd=${(/** @type {Blob[]} */ more) => setPhotos([...photos, ...more])} />
    <${Problem} error=${error} />
    <button class="button main">${say('acceptance.close-save')}</button>
  </form>`;
}

/** @param {Site} site @param {Point} point @param {{how?: string, words?: string}} told @returns {Promise<string>} the record that says so */
async function saveClosing(site, point, { how, words }) {
  const at = new Date().toISOString();
  const value = { how, ...(words?.trim() && { words: words.trim() }), noted_at: at };
  if (point.sort === OWN) {
    const form = await site.form(point.closing, 'closed');
    await site.save([
      { record: point.closing, type: 'punch_point', facet: 'closed', seen: form.seen, value },
    ]);
    return point.closing;
  }
  const record = site.newId();
  const identity = { parent: point.room, about: point.key, noted_at: at };
  await site.save([
    { record, type: 'punch_point', facet: 'identity', seen: null, value: identity },
    { record, type: 'punch_point', facet: 'closed', seen: null, value },
  ]);
  return record;
}
