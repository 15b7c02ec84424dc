// What came of it: done, a problem, or skipped. The ticks of what can kill or burn come first and block 'done'.

import { useEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { keep, kept } from '../syncing/kept.js';
import { Problem } from '../parts/parts.js';
import { PhotoButton, Photos } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { say } from '../words.js';
import { partnerName, partnerState } from './partner.js';
import { stopReasons } from './stops.js';
import { checksOf } from './work_card.js';

const NOTHING = { outcome: '', why: '' };

/** @typedef {{position: number, outcome: string, fitted?: string, checks?: string[], problem?: string}} Told */

/**
 * @param {{site: Site, read: GroupRead, position: number, stopped?: number, locked: boolean, code?: string}} props
 *   `stopped`: how often 'stop' was pressed; `locked`: what changed since the release keeps 'done' from being noted
 */
export function Outcome({ site, read, position, stopped = 0, locked, code }) {
  const [saved, setSaved] = useState(
    /** @type {{id: string, outcome: string, both?: string} | null} */ (null),
  );
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  if (!site.spec.records.installation.facets.identity.write.includes(site.role)) return null;
  const draft = `problem.${read.group.id}.${position}`;
  /** @param {Omit<Told, 'position'>} told @param {Blob[]} photos */
  const save = async (told, photos = []) => {
    setBusy(true);
    setError(null);
    try {
      const [id, ...others] = await saveInstallations(site, read, { ...told, position }, code);
      setSaved({ id, outcome: told.outcome, ...(others.length && { both: partnerName(read, position) }) });
      keep(draft, undefined);
      for (const blob of photos) await site.addPhoto({ subject: id, purpose: 'problem', blob });
    } catch (problem) {
      setError(problem);
    } finally {
      setBusy(false);
    }
  };
  if (saved) {
    return html`<${AfterSaving} site=${site} saved=${saved} error=${error} onUndone=${() => setSaved(null)} />`;
  }
  return html`<section class="stack" aria-label=${say('crew.outcome')}>
    ${
      read.conversion &&
      partnerState(read, position) !== 'missing' &&
      html`<${Done} read=${read} position=${position} busy=${busy} locked=${locked} onDone=${save} />`
    }
    <${NotDone} busy=${busy} onTold=${save} draft=${draft} stopped=${stopped} reasons=${stopReasons(read.conversion)} />
    <${Problem} error=${error} />
  </section>`;
}

/**
 * Of a pair on one ballast neither is done alone: both are noted in one save, so that one undo takes both back.
 *
 * @param {Site} site @param {GroupRead} read @param {Told} told @param {string} [code] the code that was scanned
 * @returns {Promise<string[]>} the records' ids, this fixture's first
 */
async function saveInstallations(site, read, told, code) {
  const noted_at = new Date().toISOString();
  const here = { ...told, ...(code && { code }) };
  const both = told.outcome === 'done' && partnerState(read, told.position) === 'ready';
  const partner = /** @type {PartnerReady} */ (read.partner);
  const drafts = [
    draftOf(site, read, here, noted_at),
    ...(both ? [draftOf(site, partner, ofPartner(partner, told), noted_at)] : []),
  ];
  await site.save(drafts);
  return drafts.map(({ record }) => record);
}

/** What is noted of the partner: the same ticks, but what its own conversion had fitted. @param {PartnerReady} partner @param {Told} told @returns {Told} */
const ofPartner = ({ conversion }, { fitted: _, ...told }) => {
  const fitted = conversion.facets.identity.summary;
  return { ...told, ...(fitted && { fitted }) };
};

/** @param {Site} site @param {GroupOfPartner} read @param {Told & {code?: string}} told @param {string} noted_at */
const draftOf = (site, { group, conversion }, told, noted_at) => ({
  record: site.newId(),
  type: 'installation',
  facet: 'identity',
  value: { parent: group.id, ...told, ...(conversion && { conversion: conversion.id }), noted_at },
  seen: null,
});

/** @param {{site: Site, saved: {id: string, outcome: string, both?: string}, error: unknown, onUndone: () => void}} props */
function AfterSaving({ site, saved, error, onUndone }) {
  return html`<section class="stack" aria-label=${say('crew.outcome')}>
    <${Saved} site=${site} onUndone=${onUndone}>${saved.both ? say('crew.saved-both', { outcome: saved.outcome, name: saved.both }) : say('crew.saved', { outcome: saved.outcome })}<//>
    <${Problem} error=${error} />
    <${Photos} site=${site} subject=${saved.id} />
    <${PhotoButton} site=${site} subject=${saved.id} purpose=${saved.outcome === 'done' ? 'after' : 'problem'} label=${say('crew.add-a-photo')} />
  </section>`;
}

/** The ticks of a fixture and of the one that is done with it. @param {ReleasedGroup} read @param {number} position @param {boolean} pair @returns {string[]} */
const checksOfBoth = (read, position, pair) => [
  ...new Set([
    ...checksOf(read.conversion, position),
    ...(pair ? checksOf(/** @type {PartnerReady} */ (read.partner).conversion, position) : []),
  ]),
];

/** @param {{read: ReleasedGroup, position: number, busy: boolean, locked: boolean, onDone: (told: Omit<Told, 'position'>) => void}} props */
function Done({ read, position, busy, locked, onDone }) {
  const pair = partnerState(read, position) === 'ready';
  const checks = checksOfBoth(read, position, pair);
  const [ticked, setTicked] = useState(/** @type {string[]} */ ([]));
  const [fitted, setFitted] = useState(read.conversion.facets.identity.summary ?? '');
  /** @param {string} check @param {boolean} on */
  const tick = (check, on) =>
    setTicked((before) => (on ? [...before, check] : before.filter((each) => each !== check)));
  const missing = checks.filter((check) => !ticked.includes(check));
  return html`<form class="card" onSubmit=${(/** @type {Event} */ event) => {
    event.preventDefault();
    if (locked) return;
    onDone({
      outcome: 'done',
      checks: checks.filter((check) => ticked.includes(check)),
      ...(fitted.trim() && { fitted: fitted.trim() }),
    });
  }}>
    <div class="caution" role="group" aria-labelledby="ticks">
      <p class="label" id="ticks">${say('crew.before-done-with-your-own')}</p>
      ${pair && html`<p>${say('crew.ticks-both', { name: partnerName(read, position) })}</p>`}
      ${checks.map(
        (check) => html`<label class="tick" key=${check}>
          <input type="checkbox" checked=${ticked.includes(check)} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => tick(check, event.currentTarget.checked)} />
          <span>${say(`crew.check.${check.replaceAll(' ', '-')}`)}</span>
        </label>`,
      )}
    </div>
    <div class="field">
      <label for="fitted">${say('crew.what-was-fitted')}</label>
      <textarea id="fitted" class="short" rows="2" maxlength="400" value=${fitted} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setFitted(event.currentTarget.value)}></textarea>
    </div>
    ${locked && html`<p class="problem">${say('standing.locked')}</p>`}
    <p class="muted" role="status">${missing.length > 0 ? say('crew.ticks-missing', { left: missing.length }) : ''}</p>
    <button class="button main" disabled=${busy || locked || missing.length > 0}>${pair ? say('crew.both-done') : say('crew.done')}</button>
  </form>`;
}

/**
 * What is half typed is there again after the app was closed.
 *
 * @param {{busy: boolean, onTold: (told: Omit<Told, 'position'>, photos: Blob[]) => void, draft: string, stopped: number, reasons: string[]}} props
 */
function NotDone({ busy, onTold, draft, stopped, reasons }) {
  const [{ outcome, why }, setTyped] = useState(() => kept(draft) ?? NOTHING);
  const form = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    if (stopped > 0) type({ outcome: 'problem', why });
  }, [stopped]);
  useEffect(() => {
    if (stopped > 0 && outcome === 'problem') {
      form.current?.scrollIntoView({ block: 'start' });
      form.current?.focus({ preventScroll: true });
    }
  }, [stopped, outcome]);
  const [photos, setPhotos] = useState(/** @type {Blob[]} */ ([]));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {{outcome: string, why: string}} typed */
  const type = (typed) => {
    setTyped(typed);
    keep(draft, typed.outcome ? typed : undefined);
  };
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (why.trim()) onTold({ outcome, problem: why.trim() }, photos);
    else setError({ code: 'crew.say-why' });
  };
  if (!outcome) {
    return html`<div class="side-by-side">
      <button type="button" class="button danger" onClick=${() => type({ outcome: 'problem', why })}>${say('crew.a-problem')}</button>
      <button type="button" class="button" onClick=${() => type({ outcome: 'skipped', why })}>${say('crew.skip-it')}</button>
    </div>`;
  }
  return html`<form class="card" ref=${form} tabindex="-1" onSubmit=${submit} aria-label=${outcome === 'problem' ? say('crew.a-problem') : say('crew.skipped')}>
    ${outcome === 'problem' && html`<${Reasons} reasons=${reasons} why=${why} onReason=${(/** @type {string} */ reason) => type({ outcome, why: reason })} />`}
    <div class="field">
      <label for="why">${outcome === 'problem' ? say('crew.what-is-the-problem') : say('crew.why-is-it-skipped')}</label>
      <textarea id="why" maxlength="2000" value=${why} aria-invalid=${error ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type({ outcome, why: event.currentTarget.value })}></textarea>
      <${Problem} error=${error} />
    </div>
    ${outcome === 'problem' && html`<${HeldPhotos} photos=${photos} onAdd=${(/** @type {Blob} */ blob) => setPhotos([...photos, blob])} />`}
    <button class="button main" disabled=${busy}>${say('page.save')}</button>
    <button type="button" class="button plain" onClick=${() => type(NOTHING)}>${say('page.back')}</button>
  </form>`;
}

/** The reasons to stop, to start the words with. @param {{reasons: string[], why: string, onReason: (reason: string) => void}} props */
function Reasons({ reasons, why, onReason }) {
  if (reasons.length === 0) return null;
  return html`<fieldset class="reasons">
    <legend class="label">${say('crew.is-it-one-of-these')}</legend>
    ${reasons.map(
      (reason) => html`<label class="tick" key=${reason}>
        <input type="radio" name="reason" checked=${why.startsWith(reason)} onChange=${() => onReason(reason)} />
        <span>${reason}</span>
      </label>`,
    )}
  </fieldset>`;
}

/** Photos that wait for the record they will belong to. @param {{photos: Blob[], onAdd: (blob: Blob) => void}} props */
function HeldPhotos({ photos, onAdd }) {
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
