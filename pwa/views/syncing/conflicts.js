// What two people entered apart, side by side, with who, when, on what phone, and photos; either of them, or the manager, chooses.

import { useState } from 'preact/hooks';
import { Survey } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { valueText } from '../surveying/facet_rows.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Facts, Problem } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { PhotoWithArrow } from '../photos/photo_with_arrow.js';
import { Saved } from '../parts/saved.js';
import { phoneName } from './phone_name.js';
import { parentPath, titleOf } from '../record_screens.js';
import { choiceText, say, timeText } from '../words.js';

const LIFE = 'life';

/** What somebody entered; `id` of the conflict, null for what is shown now. @typedef {{id: string | null, kind?: string, value: Value, by?: string, via?: string, at?: string, op?: string | null}} OneVersion */

/** @param {{site: Site}} props */
export function Conflicts({ site }) {
  const survey = useLive(async () => new Survey(await site.everything(), { inherits: false }), []);
  const [settled, setSettled] = useState('');
  if (!survey) return null;
  const open = survey.all.flatMap((record) =>
    [...new Set(record.conflicts.map(({ facet }) => facet))].map((facet) => ({ record, facet })),
  );
  const orphaned = survey.all.filter(
    (record) =>
      record.removed &&
      survey.children(record).length > 0 &&
      !record.conflicts.some(({ facet }) => facet === LIFE),
  );
  return html`<${Page} title=${say('sync.conflicts')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${settled && html`<${Saved} key=${settled} site=${site} onUndone=${() => setSettled('')}>${settled}<//>`}
    ${open.length + orphaned.length === 0 && html`<p>${say('readings.no-conflicts')}</p>`}
    ${open.map(({ record, facet }) => html`<${Conflict} key=${`${record.id} ${facet}`} site=${site} survey=${survey} record=${record} facet=${facet} onSettled=${setSettled} />`)}
    ${orphaned.map((record) => html`<${Orphans} key=${record.id} site=${site} survey=${survey} record=${record} onSettled=${setSettled} />`)}
  <//>`;
}

/** What a record is called, and where it stands. @param {Survey} survey @param {ViewRecord} record @returns {[string, string]} */
function named(survey, record) {
  if (record.type === 'photo') return photoNamed(survey, /** @type {ViewRecord<'photo'>} */ (record));
  const room = survey.roomOf(record);
  const kind = record.type === 'group' ? survey.kindOf(/** @type {ViewRecord<'group'>} */ (record)) : null;
  const own = kind ? titleOf(kind) : titleOf(record);
  const position = record.facets.identity?.position;
  return [
    position ? say('sync.fixture', { own, position }) : own,
    room && room !== record ? titleOf(room) : '',
  ];
}

/** @param {Survey} survey @param {ViewRecord<'photo'>} photo @returns {[string, string]} */
function photoNamed(survey, { facets: { identity } }) {
  const subject = survey.get(identity?.subject ?? '');
  const of = subject ? named(survey, subject).filter(Boolean).join(' · ') : '';
  return [say('photos.titled', { purpose: choiceText(identity?.purpose ?? 'other') }), of];
}

/** Versions of a facet: what is shown now, and what others entered. @param {RecordView} record @param {string} facet @returns {OneVersion[]} */
function versionsOf(record, facet) {
  const now = {
    id: null,
    kind: undefined,
    value: facet === LIFE ? { removed: record.removed } : (record.facets[facet] ?? {}),
    by: record.by[facet],
    via: record.via?.[facet],
    at: record.at[facet],
    op: record.seen[facet],
  };
  const others = record.conflicts
    .filter((each) => each.facet === facet)
    .map((each) => ({ ...each, op: each.id }));
  return [now, ...others];
}

/** @param {{site: Site, survey: Survey, record: RecordView, facet: string, onSettled: (said: string) => void}} props */
function Conflict({ site, survey, record, facet, onSettled }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const spec = site.spec.records[record.type]?.facets[facet];
  const versions = versionsOf(record, facet);
  const ids = /** @type {string[]} */ (versions.map(({ id }) => id).filter(Boolean));
  const [name, where] = named(survey, record);
  const title = facet === LIFE ? say('sync.removed-or-not') : (spec?.title ?? facet);
  /** @param {OneVersion} version */
  const keep = async (version) => {
    setError(null);
    const life = facet === LIFE || (record.removed && version.id === null);
    const removed = record.removed && facet !== LIFE ? true : version.value.removed === true;
    try {
      await site.settle(record.id, life ? LIFE : facet, life ? { removed } : version.value, ids);
      onSettled(say('sync.is-settled', { name, title }));
    } catch (failed) {
      setError(failed);
    }
  };
  const fields = facet === LIFE ? {} : (spec?.fields ?? {});
  const shown = facet === LIFE ? lifeVersions(versions) : versions;
  const own = useLive(() => site.device(), [site.id]);
  return html`<section class="card" aria-label=${`${name}: ${title}`} data-conflict=${record.id}>
    <div><h2><a href=${parentPath(site, record)}>${name}</a>: ${title}</h2>${where && html`<p class="muted small">${where}</p>`}</div>
    ${facet !== LIFE && record.removed && html`<p>${say('sync.removed-and-changed')}</p>`}
    ${facet === LIFE && html`<p>${say(versions.some(({ kind }) => kind === 'child') ? 'readings.conflict-child' : 'readings.conflict-life')}</p>`}
    <ul class="versions">
      ${shown.map((version) => html`<${Version} key=${version.id ?? 'now'} site=${site} record=${record} version=${version} all=${versions} fields=${fields} facet=${facet} own=${own} onKeep=${() => keep(version)} />`)}
    </ul>
    ${record.type !== 'photo' && html`<${Photos} site=${site} subject=${record.id} />`}
    <${Problem} error=${error} />
  </section>`;
}

/** One way for each of 'removed' and 'kept', whoever said so. @param {OneVersion[]} versions */
function lifeVersions(versions) {
  return [false, true].map(
    (removed) =>
      versions.find(({ value }) => (value?.removed === true) === removed) ?? {
        id: String(removed),
        value: { removed },
      },
  );
}

/** @param {{site: Site, record: RecordView, version: OneVersion, all: OneVersion[], fields: Record<string, SpecField>, facet: string, own: string | undefined, onKeep: () => void}} props */
function Version({ site, record, version, all, fields, facet, own, onKeep }) {
  const { id, by, via, at, op } = version;
  const who = by
    ? [store.whoSaidOtherwise({ by, via }), timeText(at ?? ''), phoneName(op, own)].filter(Boolean).join(', ')
    : '';
  return html`<li class=${id === null ? 'version shown' : 'version'}>
    <div class="stack">
      <p class="muted small">${[id === null ? say('sync.shown-now') : say('sync.also-entered'), who].filter(Boolean).join(': ')}</p>
      <${Said} site=${site} record=${record} version=${version} all=${all} fields=${fields} facet=${facet} />
    </div>
    <button class="button" onClick=${onKeep}>${say(keepingSays(record, facet, version))}</button>
  </li>`;
}

/** What the button of a version says. @param {RecordView} record @param {string} facet @param {OneVersion} version */
function keepingSays(record, facet, { id, value }) {
  if (facet === LIFE) return value.removed ? 'sync.remove-it' : 'sync.keep-it';
  if (record.removed) return id === null ? 'sync.leave-removed' : 'sync.back-with-this';
  return 'sync.keep-this';
}

/** What a version says, an arrow as it lies on its photo. @param {{site: Site, record: RecordView, version: OneVersion, all: OneVersion[], fields: Record<string, SpecField>, facet: string}} props */
function Said({ site, record, version: { value }, all, fields, facet }) {
  if (facet === LIFE)
    return html`<p class="strong">${value.removed ? say('page.removed') : say('sync.not-removed')}</p>`;
  const lines = linesOf(value, all, fields);
  if (record.type !== 'photo') return html`<${Facts} facts=${lines} />`;
  const isMark = facet === 'mark';
  const photo = /** @type {RecordView<'photo'>} */ (
    isMark ? { ...record, facets: { ...record.facets, mark: value } } : record
  );
  return html`${!isMark && html`<${Facts} facts=${lines} />`}<${PhotoWithArrow} site=${site} photo=${photo} />`;
}

/** The fields in which versions differ, as this one has them. @param {Value} value @param {OneVersion[]} all @param {Record<string, SpecField>} fields @returns {Array<[string, string]>} */
function linesOf(value, all, fields) {
  const names = [...new Set(all.flatMap((each) => Object.keys(each.value ?? {})))];
  return names
    .filter((name) => new Set(all.map((each) => JSON.stringify(each.value?.[name]))).size > 1)
    .map((name) => [fields[name]?.title ?? name, textOf(fields[name], value?.[name])]);
}

/** @param {SpecField | undefined} field @param {unknown} value */
function textOf(field, value) {
  if (value === undefined) return say('page.nothing');
  return field ? valueText(field, value) : String(value);
}

/** Something removed that still holds something: both go, or both stay. @param {{site: Site, survey: Survey, record: RecordView, onSettled: (said: string) => void}} props */
function Orphans({ site, survey, record, onSettled }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const children = survey.children(record);
  const [name] = named(survey, record);
  /** @param {() => Promise<unknown>} settle @param {string} said */
  const act = async (settle, said) => {
    try {
      await settle();
      onSettled(said);
    } catch (failed) {
      setError(failed);
    }
  };
  const removeAll = async () => {
    for (const child of children) await site.remove(child.id);
  };
  return html`<section class="card" aria-label=${say('sync.removed', { name })} data-conflict=${record.id}>
    <h2>${name}</h2>
    <p>${say('readings.orphans', { children: children.map((child) => named(survey, child)[0]).join(', ') })}</p>
    <div class="side-by-side">
      <button class="button" onClick=${() => act(() => site.restore(record.id), say('sync.is-back', { name }))}>${say('page.bring-it-back')}</button>
      <button class="button danger" onClick=${() => act(removeAll, say('sync.removed-with-all-in-it', { name }))}>${say('sync.remove-that-too')}</button>
    </div>
    <${Problem} error=${error} />
  </section>`;
}
