// A done that was none: taken back with a reason; what was noted stays, and the fixture is to do again.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { fixtureOf } from './fixture_facts.js';
import { ReasonSelect } from './not_done_form.js';
import { partnerName, partnerState } from './partner.js';
import { REASONS } from './reasons.js';

const OUTCOME = 'not-done-after-all';

/** @param {{site: Site, read: GroupRead, position: number, installation: RecordView<'installation'>}} props the newest word: that it is done */
export function NotDoneAfterAll({ site, read, position, installation }) {
  const [open, setOpen] = useState(false);
  const [{ reason, why }, setTyped] = useState({ reason: '', why: '' });
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const problem = why.trim();
    if (!reason || (reason === 'other' && !problem)) return setError({ code: 'card.say-why-not-done' });
    try {
      await site.save(draftsOf(site, read, position, installation, { reason, ...(problem && { problem }) }));
    } catch (wrong) {
      setError(wrong);
    }
  };
  if (!open)
    return html`<button type="button" class="button plain" onClick=${() => setOpen(true)}>${say('card.not-done-after-all')}</button>`;
  const both = doneWithIt(read, position) ? partnerName(read, position) : '';
  return html`<form class="card" onSubmit=${submit} aria-label=${say('card.not-done-after-all')}>
    <p>${say('card.not-done-after-all-means')}</p>
    ${both && html`<p>${say('card.both-not-done', { name: both })}</p>`}
    <${ReasonSelect} reasons=${REASONS[OUTCOME]} value=${reason} onReason=${(/** @type {string} */ code) => setTyped({ reason: code, why })} />
    <div class="field">
      <label for="why-not-done">${say('card.in-words')}</label>
      <textarea id="why-not-done" maxlength="2000" value=${why} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setTyped({ reason, why: event.currentTarget.value })}></textarea>
      <${Problem} error=${error} />
    </div>
    <button class="button main">${say('page.save')}</button>
    <button type="button" class="button plain" onClick=${() => setOpen(false)}>${say('page.back')}</button>
  </form>`;
}

/** The partner's newest word, where that is done too: a pair is done and undone together. @param {GroupRead} read @param {number} position */
function doneWithIt(read, position) {
  if (partnerState(read, position) !== 'ready' || !read.partner) return undefined;
  const { newest } = fixtureOf(read.partner, position);
  return newest?.facets.identity?.outcome === 'done' ? newest : undefined;
}

/** @param {Site} site @param {GroupRead} read @param {number} position @param {RecordView<'installation'>} installation @param {{reason: string, problem?: string}} why @returns {Draft[]} */
function draftsOf(site, read, position, installation, why) {
  const noted_at = new Date().toISOString();
  return [installation, doneWithIt(read, position)].flatMap((done) => {
    if (!done) return [];
    const { conversion } = done.facets.identity ?? {};
    const told = {
      parent: done.parent,
      position,
      outcome: OUTCOME,
      ...(conversion && { conversion }),
      ...why,
    };
    const record = site.newId();
    return [{ record, type: 'installation', facet: 'identity', value: { ...told, noted_at }, seen: null }];
  });
}
