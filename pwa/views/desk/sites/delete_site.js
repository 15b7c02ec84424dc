// Deleting a site: what goes is counted, an export is offered first, and its name must be typed.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { navigate } from '../../navigate.js';
import { Facts, Problem } from '../../parts/parts.js';
import { say } from '../../words.js';
import { Answer, Desk, number, useServer } from '../parts.js';
import { sizeText } from '../size.js';

/** @param {{site: Site}} props */
export function DeleteSite({ site }) {
  const answer = useServer(`/api/sites/${site.id}/contents`, []);
  return html`<${Desk} site=${site} at="/settings" title=${say('delete-site.title')}>
    <p class="notice bad">${say('delete-site.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {SiteContents} */ told) => html`
      <section class="card" aria-label=${say('delete-site.goes')}>
        <h2>${say('delete-site.goes')}</h2>
        <${Facts} facts=${factsOf(site, told)} />
        ${told.unsent > 0 && html`<p class="strong">${say('delete-site.unsent', { unsent: told.unsent })}</p>`}
        ${told.held > 0 && html`<p class="strong">${say('delete-site.held', { held: told.held })}</p>`}
      </section>
      <section class="card" aria-label=${say('delete-site.first')}>
        <h2>${say('delete-site.first')}</h2>
        <p>${say('delete-site.first-about')}</p>
        <div class="side-by-side">
          <a class="button" href=${`/s/${site.id}/desk/files`}>${say('delete-site.files')}</a>
          <a class="button" href=${`/api/sites/${site.id}/walk.csv`} download>${say('delete-site.walk')}</a>
          <a class="button" href=${`/s/${site.id}/desk/settings`}>${say('delete-site.archive-instead')}</a>
        </div>
      </section>
      <${TypedName} site=${site} name=${told.name} />`}
    <//>
  <//>`;
}

/** @param {Site} site @param {SiteContents} told @returns {Array<[string, Child]>} */
function factsOf(site, told) {
  return [
    ...Object.entries(told.records).map(
      ([type, count]) =>
        /** @type {[string, Child]} */ ([site.spec.records[type]?.title ?? type, number(count)]),
    ),
    [say('delete-site.operations'), number(told.operations)],
    [
      say('delete-site.photos'),
      say('delete-site.photos-size', { photos: number(told.photos), size: sizeText(told.photo_bytes) }),
    ],
    [say('delete-site.people'), number(told.people)],
    [say('delete-site.phones'), number(told.phones)],
  ];
}

/** @param {{site: Site, name: string}} props */
function TypedName({ site, name }) {
  const [typed, setTyped] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const remove = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}`, { method: 'DELETE', body: { name: typed } });
    } catch (problem) {
      setError(problem);
      return;
    }
    navigate('/', { replace: true });
    await store.forgetSite(site.id);
    await store.refresh();
  };
  return html`<form class="card" onSubmit=${remove} aria-label=${say('delete-site.title')}>
    <div class="field"><label for="typed-name">${say('delete-site.type', { name })}</label>
      <input id="typed-name" required maxlength="80" autocomplete="off" autocapitalize="off" value=${typed}
        onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setTyped(event.currentTarget.value)} /></div>
    <${Problem} error=${error} />
    <button class="button danger" disabled=${typed.trim() !== name}>${say('delete-site.do')}</button>
  </form>`;
}
