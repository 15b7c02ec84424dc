// A group of fixtures, as one sees it from the door: which kind, how many, how many lamps dark, emergency seen or not.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Chips } from '../inputs/fields.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Tally } from '../parts/tally.js';
import { titleOf } from '../places.js';
import { byMark, nextMark } from './survey.js';
import { say } from '../words.js';

const NEW = 'new';

/** @param {{site: Site, params: {id: string}}} props */
export function AddGroup({ site, params: { id } }) {
  const read = useLive(
    async () => ({ room: await site.get(id), kinds: byMark(await site.all('kind')) }),
    [id],
  );
  if (!read) return null;
  const back = `/s/${site.id}/room/${id}`;
  if (!read.room)
    return html`<${Page} title=${say('survey.add-a-group')} back=${`/s/${site.id}`} site=${site.id}><p>${say('view.record-missing')}</p><//>`;
  return html`<${Page} title=${say('survey.add-a-group')} over=${titleOf(read.room)} back=${back} site=${site.id}>
    <${GroupForm} site=${site} room=${id} kinds=${read.kinds} />
  <//>`;
}

/** @param {{site: Site, room: string, kinds: RecordView<'kind'>[]}} props */
function GroupForm({ site, room, kinds }) {
  const spec = site.spec.records.group.facets;
  const [kind, setKind] = useState(/** @type {string | null} */ (kinds.length === 0 ? NEW : null));
  const [title, setTitle] = useState('');
  const [note, setNote] = useState('');
  const [count, setCount] = useState(/** @type {number | null} */ (null));
  const [dark, setDark] = useState(/** @type {number | null} */ (0));
  const [emergency, setEmergency] = useState('not-seen');
  const [sure, setSure] = useState('yes');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const { min, max } = /** @type {{min: number, max: number}} */ (spec.count.fields.count);

  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = firstWrong(kind, count, dark, { min, max });
    setError(wrong);
    if (wrong || kind === null) return;
    const entered = { note: note.trim(), count, dark, emergency, sure };
    const mark = nextMark(kinds);
    const kindId = kind === NEW ? site.newId() : kind;
    const drafts = [
      ...(kind === NEW ? [kindDraft(site, kindId, mark, title.trim())] : []),
      ...groupDrafts(site, room, kindId, entered),
    ];
    try {
      await site.save(drafts);
      navigate(kind === NEW ? `/s/${site.id}/kind/${kindId}?room=${room}` : `/s/${site.id}/room/${room}`, {
        replace: true,
      });
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<form class="stack" onSubmit=${submit} novalidate>
    <div class="field">
      <label for="kind">${say('page.kind')}</label>
      <select id="kind" value=${kind ?? ''} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setKind(event.currentTarget.value || null)}>
        <option value="" selected=${kind === null}>–</option>
        ${kinds.map((each) => html`<option key=${each.id} value=${each.id} selected=${kind === each.id}>${say('survey.same-as', { title: titleOf(each) })}</option>`)}
        <option value=${NEW} selected=${kind === NEW}>${say('survey.a-new-kind', { mark: nextMark(kinds) })}</option>
      </select>
    </div>
    ${kind === NEW && html`<${Words} label=${say('survey.what-is-in-a-few', { mark: nextMark(kinds) })} value=${title} onChange=${setTitle} most=${80} />`}
    <${Tally} label=${say('survey.fixtures')} value=${count} onChange=${setCount} least=${min} most=${max} />
    <${Chips} name="sure" title=${say('survey.count-sure')} choices=${spec.count.fields.sure.choices} value=${sure} onChange=${setSure} />
    <${Tally} label=${say('survey.dark-lamps')} value=${dark} onChange=${setDark} least=${0} most=${spec.count.fields.dark_lamps.max} />
    <${Chips} name="emergency" title=${say('page.emergency')} choices=${spec.duty.fields.emergency.choices} value=${emergency} onChange=${setEmergency} />
    <${Words} label=${say('survey.which-ones-if-there-is')} value=${note} onChange=${setNote} most=${200} />
    <${Problem} error=${error} />
    <button class="button main wide">${say('survey.add-the-group')}</button>
  </form>`;
}

/** @param {{label: string, value: string, onChange: (text: string) => void, most: number}} props */
function Words({ label, value, onChange, most }) {
  return html`<div class="field">
    <label>${label}<input value=${value} maxlength=${most} autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value)} /></label>
  </div>`;
}

/**
 * @param {string | null} kind @param {number | null} count @param {number | null} dark
 * @param {{min: number, max: number}} limits
 */
function firstWrong(kind, count, dark, { min, max }) {
  if (kind === null) return { code: 'field.missing', facts: { title: say('page.kind') } };
  if (count === null) return { code: 'field.missing', facts: { title: say('survey.fixtures') } };
  if (count < min)
    return { code: 'field.too-small', facts: { title: say('survey.fixtures'), value: count, min } };
  if (count > max)
    return { code: 'field.too-large', facts: { title: say('survey.fixtures'), value: count, max } };
  return dark !== null && dark < 0
    ? { code: 'field.too-small', facts: { title: say('survey.dark-lamps'), value: dark, min: 0 } }
    : null;
}

/** @param {Site} site @param {string} record @param {string} mark @param {string} title */
const kindDraft = (site, record, mark, title) => ({
  record,
  type: 'kind',
  facet: 'identity',
  value: { parent: site.id, mark, ...(title && { title }) },
  seen: null,
});

/** @typedef {{note: string, count: number | null, dark: number | null, emergency: string, sure: string}} Entered */

/** @param {Site} site @param {string} room @param {string} kind @param {Entered} entered */
function groupDrafts(site, room, kind, { note, count, dark, emergency, sure }) {
  const record = site.newId();
  /** @param {string} facet @param {Value} value */
  const draft = (facet, value) => ({ record, type: 'group', facet, value, seen: null });
  return [
    draft('identity', { parent: room, kind, ...(note && { note }) }),
    draft('count', { count, sure, ...(dark !== null && { dark_lamps: dark }) }),
    ...(emergency === 'not-seen' ? [] : [draft('duty', { emergency })]),
  ];
}
