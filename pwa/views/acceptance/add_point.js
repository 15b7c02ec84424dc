// A point that is added on the walk: words, and photos of it.

import { useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { addWaitingPhotos } from '../../store/waiting_photos.js';
import { html } from '../html.js';
import { useWaitingPhotos } from '../photos/waiting_photos.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { say } from '../words.js';
import { PhotosToAdd } from './photos_to_add.js';

/** @param {{site: Site, room: string}} props */
export function AddPoint({ site, room }) {
  const draft = draftOf(site.id, `punch.${room}`);
  const [words, setWords] = useState(String(draft.at ?? ''));
  const [photos, setPhotos] = useWaitingPhotos(site, `punch.${room}`);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(0);
  /** What was saved while its photos were not: it goes on, and is no second point. */
  const [begun, setBegun] = useState({ record: '', words: '' });
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!words.trim()) return setError({ code: 'acceptance.words-missing' });
    setError(null);
    try {
      const said = words.trim();
      const record = begun.words === said ? begun.record : site.newId();
      if (record !== begun.record) {
        const value = { parent: room, words: said, noted_at: new Date().toISOString() };
        await site.save([{ record, type: 'punch_point', facet: 'identity', seen: null, value }]);
        setBegun({ record, words: said });
      }
      await addWaitingPhotos(
        site,
        `punch.${room}`,
        { subject: record, purpose: 'problem' },
        photos,
        setPhotos,
      );
      setBegun({ record: '', words: '' });
      draft.forget();
      setWords('');
      setPhotos([]);
      setSaved(saved + 1);
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<details class="card">
    <summary class="turn">${say('acceptance.add')}</summary>
    <form class="stack" onSubmit=${submit} aria-label=${say('acceptance.add')}>
      <div class="field">
        <label for="punch-words">${say('acceptance.add-words')}</label>
        <textarea id="punch-words" rows="2" maxlength="1000" value=${words} aria-invalid=${error ? 'true' : 'false'}
          onInput=${(/** @type {EventOf<HTMLTextAreaElement>} */ event) => {
            setWords(event.currentTarget.value);
            draft.keep(event.currentTarget.value);
          }}></textarea>
      </div>
      <${PhotosToAdd} label=${say('page.take-a-photo')} photos=${photos} onAdd=${(/** @type {Blob[]} */ more) => setPhotos([...photos, ...more])} />
      <${Problem} error=${error} />
      <button class="button main">${say('acceptance.add-save')}</button>
      ${saved > 0 && html`<${Saved} key=${saved} site=${site} />`}
    </form>
  </details>`;
}
