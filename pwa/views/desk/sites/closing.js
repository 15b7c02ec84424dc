// A site is closed, its archive made and taken away, and opened again with a reason; by an owner.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { Facts, Problem } from '../../parts/parts.js';
import { say, timeText } from '../../words.js';
import { number } from '../parts.js';
import { sizeText } from '../size.js';

const ASK_EACH_MS = 1500;

/** @typedef {{state: string, made_at: string | null, earlier: boolean, done: number, total: number, bytes: number, sha256: string | null, last_entry: string | null, not_made: Record<string, string>, photos_missing: number, attachments_missing: number, why: {code: string, facts: Facts} | null}} ArchiveTold */

/** Close, archive, open again, delete. @param {{site: Site}} props */
export function Closing({ site }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const [reason, setReason] = useState('');
  const closed = Boolean(site.entry.archived_at);
  const turn = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setBusy(true);
    setError(null);
    try {
      await askServer(`/api/sites/${site.id}/archived`, {
        method: 'PUT',
        body: { archived: !closed, reason },
      });
      setReason('');
      await store.refresh();
    } catch (problem) {
      setError(problem);
    }
    setBusy(false);
    site.sync();
  };
  return html`<section class="card" aria-label=${say('settings.keeping')}>
    <h2>${say('settings.keeping')}</h2>
    <p>${say(closed ? 'settings.archived-about' : 'settings.archive-about')}</p>
    <${Problem} error=${error} />
    <form class="stack" onSubmit=${turn}>
      ${closed && html`<label class="field"><span>${say('closing.reason')}</span><textarea rows="2" maxlength="2000" value=${reason} onInput=${(/** @type {EventOf<HTMLTextAreaElement>} */ event) => setReason(event.currentTarget.value)}></textarea></label>`}
      <div class="side-by-side">
        <button type="submit" class="button" disabled=${busy || (closed && !reason.trim())}>${say(closed ? 'settings.bring-back' : 'settings.archive')}</button>
        <a class="button danger" href=${`/s/${site.id}/desk/delete`}>${say('settings.delete')}</a>
      </div>
    </form>
    ${!site.isCatalogue && html`<${Archive} key=${closed} site=${site} />`}
  </section>`;
}

/** @param {{site: Site}} props */
function Archive({ site }) {
  const [told, setTold] = useState(/** @type {ArchiveTold | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const ask = (/** @type {string} */ method) =>
    askServer(`/api/sites/${site.id}/archive`, method === 'GET' ? {} : { method, body: {} }).then(
      (answer) => setTold(/** @type {ArchiveTold} */ (answer)),
      setError,
    );
  useEffect(() => {
    ask('GET');
  }, []);
  useEffect(() => {
    if (told?.state !== 'making') return undefined;
    const timer = setTimeout(() => ask('GET'), ASK_EACH_MS);
    return () => clearTimeout(timer);
  }, [told]);
  return html`<h3>${say('closing.archive')}</h3>
    <p class="small muted">${say('closing.archive-about')}</p>
    <${Problem} error=${error} />
    ${told?.state === 'making' && html`<p role="status">${say('closing.making', { done: number(told.done), total: number(told.total) })}</p><progress max=${told.total || 1} value=${told.done}></progress>`}
    ${told?.state === 'wrong' && told.why && html`<p class="notice bad">${say(told.why.code, told.why.facts)}</p>`}
    ${told?.state === 'made' && html`<${Made} site=${site} told=${told} />`}
    ${told && told.state !== 'making' && html`<button type="button" class="button" onClick=${() => ask('POST')}>${say(told.state === 'made' ? 'closing.make-again' : 'closing.make')}</button>`}`;
}

/** @param {{site: Site, told: ArchiveTold}} props */
function Made({ site, told }) {
  return html`${told.earlier && html`<p class="notice">${say('archive.earlier')}</p>`}
    <${Facts} facts=${[
      [say('closing.made-at'), timeText(told.made_at ?? '')],
      [say('closing.size'), sizeText(told.bytes)],
      [say('closing.last-entry'), html`<code class="breaks">${told.last_entry}</code>`],
    ]} />
    <p class="small">${say('closing.write-it-down')}</p>
    ${Object.values(told.not_made).map((why) => html`<p class="notice">${say('archive.report-not-made', { why })}</p>`)}
    ${told.photos_missing > 0 && html`<p class="notice bad">${say('archive.photos-missing', { count: told.photos_missing })}</p>`}
    ${told.attachments_missing > 0 && html`<p class="notice bad">${say('archive.attachments-missing', { count: told.attachments_missing })}</p>`}
    <a class="button main" href=${`/api/sites/${site.id}/archive.zip`} download>${say('closing.take')}</a>`;
}
