// A group of fixtures, as one sees it from the door: which kind, how many; then what else the door tells.

import { useState } from 'preact/hooks';
import { areNever } from '../../rules/fit/not_converted.js';
import { draftOf } from '../drafts.js';
import { useLive, useShown } from '../hooks.js';
import { html } from '../html.js';
import { Chips } from '../inputs/fields.js';
import { navigate } from '../navigate.js';
import { tellSaved } from '../parts/just_saved.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Tally } from '../parts/tally.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { wrongCount } from './count_here.js';
import { DescribeKind, questionsFor } from './describe_kind.js';
import { KindDrawing } from './kind_drawing.js';
import { KindTiles, lampsText, tilesFor } from './kind_tiles.js';
import { nextMark } from './survey.js';
import { openDrafts } from './walk.js';

const NEW = 'new';

/** @typedef {import('./describe_kind.js').Described} Described */
/**
 * @typedef {object} Entered what stands in the form; null: nothing said
 * @property {string | null} kind id of a kind, or NEW
 * @property {number} step of the questions about a new kind
 * @property {Described} described
 * @property {string} title of a new kind
 * @property {string} note
 * @property {number | null} count
 * @property {number | null} dark
 * @property {string} emergency
 * @property {string | undefined} [sure]
 */

/** Nothing is answered before somebody looked. @type {Entered} */
const NOTHING = {
  kind: null,
  step: 0,
  described: {},
  title: '',
  note: '',
  count: null,
  dark: null,
  emergency: 'not-seen',
};

/** @param {{site: Site, params: {id: string}}} props */
export function AddGroup({ site, params: { id } }) {
  const read = useLive(async () => {
    const room = /** @type {RecordView<'room'> | undefined} */ (await site.get(id));
    return { room, tiles: room ? await tilesFor(site, room) : [] };
  }, [id]);
  if (!read) return null;
  if (!read.room)
    return html`<${Page} title=${say('survey.add-a-group')} back=${`/s/${site.id}`} site=${site.id} look="form"><${NotHere} site=${site} /><//>`;
  return html`<${GroupForm} site=${site} room=${read.room} tiles=${read.tiles} />`;
}

const FORM = 'new-group';

/** @param {{site: Site, room: RecordView<'room'>, tiles: import('./kind_tiles.js').Tile[]}} props */
function GroupForm({ site, room, tiles }) {
  const draft = draftOf(site.id, `${room.id}.group`);
  const [now, setNow] = useState(
    /** @returns {Entered} */ () => draft.at ?? { ...NOTHING, kind: tiles.length === 0 ? NEW : null },
  );
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const frame = {
    title: say('survey.add-a-group'),
    over: titleOf(room),
    back: `/s/${site.id}/room/${room.id}`,
    site: site.id,
    look: 'form',
  };
  const kinds = tiles.map(({ kind }) => kind);
  const mark = nextMark(kinds);
  /** @param {Partial<Entered>} change */
  const change = (change) => {
    const next = { ...now, ...change };
    setNow(next);
    draft.keep(next);
    setError(null);
  };
  if (now.kind === null)
    return html`<${Page} ...${frame} act=${html`<button type="button" class="button wide" onClick=${() => change({ kind: NEW })}>${say('survey.a-new-kind', { mark })}</button>`}>
      <${KindTiles} site=${site} tiles=${tiles} chosen=${null} onChoose=${(/** @type {string} */ kind) => change({ kind })} />
    <//>`;
  if (now.kind === NEW && now.step < questionsFor(now.described).length)
    return html`<${Page} ...${frame}><${DescribeKind} site=${site} mark=${mark} described=${now.described} step=${now.step}
      onStep=${(/** @type {Described} */ described, /** @type {number} */ step) => change({ described, step })}>
      ${kinds.length > 0 && html`<button type="button" class="button plain" onClick=${() => change({ kind: null, step: 0 })}>${say('survey.another-kind')}</button>`}
    <//><//>`;
  const chosen = tiles.find(({ kind }) => kind.id === now.kind);
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const { min, max } = limitsOf(site);
    const wrong = wrongCount(now.count, min, max);
    setError(wrong);
    if (wrong) return;
    const kind = now.kind === NEW ? site.newId() : String(now.kind);
    const group = site.newId();
    const isRead = now.kind === NEW && !areNever(now.described.lamps ?? {});
    const onward = isRead ? `/s/${site.id}/group/${group}/read` : `/s/${site.id}/room/${room.id}`;
    try {
      await site.save([
        ...(now.kind === NEW ? kindDrafts(site, kind, mark, now) : []),
        ...groupDrafts(group, room.id, kind, now),
        ...openDrafts(room),
      ]);
      draft.forget();
      const title = chosen ? titleOf(chosen.kind) : [mark, now.title.trim()].filter(Boolean).join(' ');
      const said = say('survey.group-added', { title, fixtures: counted(now.count ?? 0, 'fixture') });
      // The tape's screen has no line to spare: nothing scrolls on a ladder.
      if (!isRead) await tellSaved(site, onward, said);
      navigate(onward, { replace: true });
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<${Page} ...${frame} act=${html`<button class="button main wide" form=${FORM}>${say('survey.add-the-group')}</button>`}>
    <form class="stack" id=${FORM} onSubmit=${save} novalidate>
      <${Chosen} tile=${chosen} mark=${mark} described=${now.described} onOther=${() => change({ kind: null, step: 0 })} />
      <${Counting} site=${site} now=${now} onChange=${change} error=${error} />
      <${FromTheDoor} site=${site} now=${now} mark=${mark} onChange=${change} />
    </form>
  <//>`;
}

/** @param {Site} site */
const limitsOf = (site) =>
  /** @type {{min: number, max: number}} */ (site.spec.records.group.facets.count.fields.count);

/** The kind that was chosen, and the way to another. @param {{tile: import('./kind_tiles.js').Tile | undefined, mark: string, described: Described, onOther: () => void}} props */
function Chosen({ tile, mark, described, onOther }) {
  return html`<div class="chosen">
    <span class="tile-picture"><${KindDrawing} lamps=${tile ? tile.kind.facets.lamps : described.lamps} /></span>
    <p><span class="strong">${tile ? titleOf(tile.kind) : say('survey.a-new-kind', { mark })}</span><span class="detail small muted">${lampsText(tile ? tile.kind.facets.lamps : described.lamps)}</span></p>
    <button type="button" class="button plain" onClick=${onOther} aria-label=${say('survey.another-kind')}>${say('survey.change-it')}</button>
  </div>`;
}

/** @param {{site: Site, now: Entered, onChange: (change: Partial<Entered>) => void, error: unknown}} props */
function Counting({ site, now, onChange, error }) {
  const { min, max } = limitsOf(site);
  return html`<${Tally} label=${say('survey.fixtures')} value=${now.count} onChange=${(/** @type {number | null} */ count) => onChange({ count })} least=${min} most=${max} first=${true} />
    <${Problem} error=${error} />`;
}

/** What else the door tells; each of it may stay unseen. @param {{site: Site, now: Entered, mark: string, onChange: (change: Partial<Entered>) => void}} props */
function FromTheDoor({ site, now, mark, onChange }) {
  const spec = site.spec.records.group.facets;
  const isShown = useShown();
  if (!isShown) return null;
  return html`<section class="stack" aria-label=${say('survey.from-the-door')}>
    <${Chips} name="emergency" title=${say('page.emergency')} choices=${spec.duty.fields.emergency.choices} value=${now.emergency} onChange=${(/** @type {string} */ emergency) => onChange({ emergency })} />
    <${Tally} label=${say('survey.dark-lamps')} value=${now.dark} onChange=${(/** @type {number | null} */ dark) => onChange({ dark })} least=${0} most=${spec.count.fields.dark_lamps.max} />
    <${Chips} name="sure" title=${say('survey.count-sure')} choices=${spec.count.fields.sure.choices} value=${now.sure} onChange=${(/** @type {string} */ sure) => onChange({ sure })} />
    <${Words} label=${say('survey.which-ones-if-there-is')} value=${now.note} onChange=${(/** @type {string} */ note) => onChange({ note })} most=${200} />
    ${now.kind === NEW && html`<${Words} label=${say('survey.what-is-in-a-few', { mark })} value=${now.title} onChange=${(/** @type {string} */ title) => onChange({ title })} most=${80} />`}
  </section>`;
}

/** @param {{label: string, value: string, onChange: (text: string) => void, most: number}} props */
function Words({ label, value, onChange, most }) {
  return html`<div class="field">
    <label>${label}<input value=${value} maxlength=${most} autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value)} /></label>
  </div>`;
}

/** @param {Site} site @param {string} record @param {string} mark @param {Entered} now @returns {Draft[]} */
function kindDrafts(site, record, mark, { title, described }) {
  const { identity = {}, ...facets } = described;
  const named = { ...identity, parent: site.id, mark, ...(title.trim() && { title: title.trim() }) };
  return [
    { record, type: 'kind', facet: 'identity', value: named, seen: null },
    ...Object.entries(facets)
      .filter(([, value]) => Object.keys(value).length > 0)
      .map(([facet, value]) => ({ record, type: 'kind', facet, value, seen: null })),
  ];
}

/** @param {string} record @param {string} room @param {string} kind @param {Entered} now @returns {Draft[]} */
function groupDrafts(record, room, kind, { note, count, dark, emergency, sure }) {
  /** @param {string} facet @param {Value} value */
  const draft = (facet, value) => ({ record, type: 'group', facet, value, seen: null });
  return [
    draft('identity', { parent: room, kind, ...(note.trim() && { note: note.trim() }) }),
    draft('count', { count, ...(sure && { sure }), ...(dark !== null && { dark_lamps: dark }) }),
    ...(emergency === 'not-seen' ? [] : [draft('duty', { emergency })]),
  ];
}
