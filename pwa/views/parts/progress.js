// How far a room is: open, surveyed, nothing to convert, or no access and why.

import { useEffect, useRef, useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { html } from '../html.js';
import { Chips } from '../inputs/fields.js';
import { stillOpen } from '../surveying/closing.js';
import { choiceText, counted, say } from '../words.js';
import { OpenPoint } from './open_point.js';
import { Problem } from './parts.js';
import { Saved } from './saved.js';

const NEEDS_A_REASON = new Set(['nothing-to-convert', 'no-access']);

/** @param {{site: Site, room: RecordView<'room'>}} props */
export function Progress({ site, room }) {
  const now = /** @type {ValueOf<'room', 'progress'>} */ (room.facets.progress ?? {});
  const [asked, setAsked] = useState(false);
  /** What is still open in it, once it is called surveyed. */
  const [open, setOpen] = useState(
    /** @type {import('../../rules/points/open_points.js').OpenPoint[]} */ ([]),
  );
  /** What was tapped, until the room says so. */
  const [tapped, setTapped] = useState(/** @type {string | null} */ (null));
  const draft = draftOf(site.id, `why.${room.id}`);
  const [reason, setReason] = useState(() => draft.at ?? now.reason ?? '');
  const [told, setTold] = useState({ said: '', saves: 0 });
  const [error, setError] = useState(/** @type {unknown} */ (null));
  useEffect(() => setTapped(null), [room.seen.progress, error]);
  /** Whether the room is still shown: what is open in it is asked for no longer than that. */
  const here = useRef(true);
  useEffect(
    () => () => {
      here.current = false;
    },
    [],
  );
  const { choices } = site.spec.records.room.facets.progress.fields.progress;
  /** @param {string} progress @param {string} [why] */
  const save = async (progress, why) => {
    setError(null);
    try {
      const value = { progress, ...(why && { reason: why }) };
      await site.save([
        { record: room.id, type: 'room', facet: 'progress', value, seen: room.seen.progress ?? null },
      ]);
      setAsked(false);
      if (why) draft.forget();
      const said = say('page.saved', { progress: choiceText(progress) });
      setTold(({ saves }) => ({ said, saves: saves + 1 }));
    } catch (problem) {
      setError(problem);
    }
  };
  /** It is saved as it is tapped; why it is so is asked then, and may come later. @param {string} progress */
  const choose = async (progress) => {
    setTapped(progress);
    await save(progress);
    setAsked(NEEDS_A_REASON.has(progress));
    setOpen(progress === 'surveyed' ? await stillOpen(site, room, () => here.current).catch(() => []) : []);
  };
  /** @param {string} text */
  const type = (text) => {
    setReason(text);
    draft.keep(text);
  };
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (reason.trim()) save(String(tapped ?? now.progress), reason.trim());
    else setError({ code: 'field.missing', facts: { title: say('page.reason') } });
  };
  return html`<section class="stack" aria-label=${say('page.progress')}>
    <${Chips} name="progress" title=${say('page.this-room-is')} choices=${choices} value=${tapped ?? now.progress} onChange=${choose} />
    ${now.reason && !asked && html`<p class="muted">${now.reason}</p>`}
    ${
      (asked || (NEEDS_A_REASON.has(now.progress ?? '') && !now.reason)) &&
      html`<form class="stack" onSubmit=${submit}>
        <div class="field">
          <label for="reason">${say('page.why', { wanted: choiceText(tapped ?? now.progress) })}</label>
          <input id="reason" value=${reason} autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => type(event.currentTarget.value)} />
        </div>
        <button class="button main">${say('page.save')}</button>
      </form>`
    }
    <${Problem} error=${error} />
    ${
      open.length > 0 &&
      html`<p class="strong" role="status">${say('survey.still-open-here', { points: counted(open.length, 'open-point') })}</p>
      <ul class="rows">${open.map((point) => html`<${OpenPoint} key=${`${point.rule} ${point.record}`} point=${point} site=${site} />`)}</ul>`
    }
    ${told.said && html`<${Saved} site=${site} key=${told.saves}>${told.said}<//>`}
  </section>`;
}
