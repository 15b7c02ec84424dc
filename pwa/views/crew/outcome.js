// What came of it: done, a problem, or skipped. The checks of what can kill or burn come first and block 'done'.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { mayWrite } from '../record_screens.js';
import { Problem } from '../parts/parts.js';
import { PhotoButton, Photos, PhotosLeft } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { ownName } from '../drafts.js';
import { keep } from '../../store/kept.js';
import { addWaitingPhotos } from '../../store/waiting_photos.js';
import { say } from '../words.js';
import { Done } from './done_form.js';
import { fittedDraft } from './fitted.js';
import { fixtureOf } from './fixture_facts.js';
import { NotDone } from './not_done_form.js';
import { partnerName, partnerState } from './partner.js';
import { stopsOf } from './stops.js';

/** @typedef {{position: number, outcome: string, fitted?: string, checks?: string[], problem?: string, reason?: string, minutes?: number, helper?: string, helper_person?: string}} Told */
/** What a form hands over: the outcome, and what was fitted where it is done. @typedef {Omit<Told, 'position'> & {asFitted?: ValueOf<'installation', 'as_fitted'>}} FromForm */

/**
 * @param {{site: Site, read: GroupRead, position: number, checkingOff: import('./visits.js').CheckingOff, stopped?: number, locked: boolean, code?: string}} props
 *   `stopped`: how often 'stop' was pressed; `locked`: what changed since the release keeps 'done' from being noted
 */
export function Outcome({ site, read, position, checkingOff, stopped = 0, locked, code }) {
  const [saved, setSaved] = useState(
    /** @type {{id: string, outcome: string, both?: string} | null} */ (null),
  );
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const [left, setLeft] = useState(/** @type {Blob[]} */ ([]));
  if (!mayWrite(site, 'installation')) return null;
  const draft = ownName(`problem.${read.group.id}.${position}`);
  /** What the phone has no room for stays on the screen. @param {string} id of the record @param {Blob[]} photos */
  const addPhotos = async (id, photos) => {
    setError(null);
    setLeft(photos);
    try {
      await addWaitingPhotos(site, draft, { subject: id, purpose: 'problem' }, photos, setLeft);
    } catch (problem) {
      setError(problem);
    }
  };
  /** @param {FromForm} told @param {Blob[]} [photos] */
  const save = async (told, photos = []) => {
    setBusy(true);
    setError(null);
    try {
      await checkingOff.saved();
      const [id, ...others] = await saveInstallations(site, read, { ...told, position }, code);
      setSaved({ id, outcome: told.outcome, ...(others.length && { both: partnerName(read, position) }) });
      keep(draft, undefined);
      await addPhotos(id, photos);
    } catch (problem) {
      setError(problem);
    } finally {
      setBusy(false);
    }
  };
  if (saved) {
    const again = html`<${PhotosLeft} photos=${left} onSave=${() => addPhotos(saved.id, left)} />`;
    return html`<${AfterSaving} site=${site} saved=${saved} error=${error} again=${again} onUndone=${() => setSaved(null)} />`;
  }
  return html`<section class="stack" aria-label=${say('crew.outcome')}>
    ${
      read.conversion &&
      !isDone(read, position) &&
      partnerState(read, position) !== 'missing' &&
      html`<${Done} site=${site} read=${read} position=${position} checkingOff=${checkingOff} busy=${busy} locked=${locked} onDone=${save} />`
    }
    <${NotDone} site=${site} busy=${busy} onTold=${save} draft=${draft} stopped=${stopped} stops=${stopsOf(read.conversion)} />
    <${Problem} error=${error} />
  </section>`;
}

/** Whether it is done as it is released now, and was not sent back: then there is nothing to note as done. @param {GroupRead} read @param {number} position */
const isDone = (read, position) =>
  read.done.has(position) &&
  fixtureOf(read, position).newest?.facets.identity?.conversion === read.conversion?.id;

/**
 * Of a pair on one ballast neither is done alone: both are noted in one save, so that one undo takes both back.
 *
 * @param {Site} site @param {GroupRead} read @param {FromForm & {position: number}} told @param {string} [code] the code that was scanned
 * @returns {Promise<string[]>} the records' ids, this fixture's first
 */
async function saveInstallations(site, read, { asFitted, ...told }, code) {
  const noted_at = new Date().toISOString();
  const here = draftOf(site, read, { ...told, ...(code && { code }) }, noted_at);
  const drafts = [here, ...(asFitted ? [fittedDraft(here.record, asFitted)] : [])];
  const both = told.outcome === 'done' && partnerState(read, told.position) === 'ready';
  if (both) {
    const partner = /** @type {PartnerReady} */ (read.partner);
    const there = draftOf(site, partner, ofPartner(partner, told), noted_at);
    drafts.push(there, fittedDraft(there.record, { as_released: true }));
  }
  await site.save(drafts);
  return drafts.filter(({ facet }) => facet === 'identity').map(({ record }) => record);
}

/** What is noted of the partner: the same checks, but what its own conversion had fitted. @param {PartnerReady} partner @param {Told} told @returns {Told} */
const ofPartner = ({ conversion }, { fitted: _, ...told }) => {
  const fitted = conversion.facets.identity.summary;
  return { ...told, ...(fitted && { fitted }) };
};

/** @param {Site} site @param {GroupOfPartner} read @param {Told} told @param {string} noted_at @returns {Draft} */
const draftOf = (site, { group, conversion }, told, noted_at) => ({
  record: site.newId(),
  type: 'installation',
  facet: 'identity',
  value: { parent: group.id, ...told, ...(conversion && { conversion: conversion.id }), noted_at },
  seen: null,
});

/** @param {{site: Site, saved: {id: string, outcome: string, both?: string}, error: unknown, again: Child, onUndone: () => void}} props */
function AfterSaving({ site, saved, error, again, onUndone }) {
  return html`<section class="stack" aria-label=${say('crew.outcome')}>
    <${Saved} site=${site} onUndone=${onUndone}>${saved.both ? say('crew.saved-both', { outcome: saved.outcome, name: saved.both }) : say('crew.saved', { outcome: saved.outcome })}<//>
    <${Problem} error=${error} />
    ${again}
    <${Photos} site=${site} subject=${saved.id} />
    <${PhotoButton} site=${site} subject=${saved.id} purpose=${saved.outcome === 'done' ? 'after' : 'problem'} label=${say('crew.add-a-photo')} />
  </section>`;
}
