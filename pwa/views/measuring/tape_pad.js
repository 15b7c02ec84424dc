// One cavity reading after another: which fixture, what stands on the tape, and at once what fits.

import { useEffect, useState } from 'preact/hooks';
import { formatInches, formatMm } from '../../rules/lengths.js';
import { facet, positionsOf } from '../../rules/survey.js';
import { BestFit, OtherFits, verdictText } from './fits.js';
import { useSiteUnits, useUnits } from '../forms/units.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { TapePad } from '../inputs/tape.js';
import { WhichCavity, WhichRow, WhichTape } from '../inputs/which_cavity.js';
import { bestOf, counted, findGroup, judged } from './judged_group.js';
import { keep, kept } from '../syncing/kept.js';
import { SmallFit } from '../parts/fit_drawing.js';
import { Page } from '../parts/page.js';
import { Caution, Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { confirmedDraft, draftOf, nextPosition, savesOf, usualTape } from './reading_draft.js';
import { say } from '../words.js';

const PAUSE_MS = 350;

/**
 * @typedef {object} Typed what stands in the form
 * @property {string} id of the reading
 * @property {string} text
 * @property {Units} units
 * @property {boolean} confirmed
 * @property {import('./reading_draft.js').Place} place
 * @property {import('./reading_draft.js').Tape} tape
 *
 * @typedef {import('../../records.d.ts').CavityReadingFacets['identity'] & {id: string, undone?: boolean}} SavedReading
 */

/** @param {{site: Site, params: {id: string}}} props */
export function ReadCavity({ site, params: { id } }) {
  const found = useLive(() => findGroup(site, id), [id]);
  const usual = useUnits(site);
  const ofSite = useSiteUnits(site);
  const settings = useLive(async () => (await site.get(site.id)) ?? null, []);
  if (found === undefined || settings === undefined) return null;
  const back = `/s/${site.id}/group/${id}`;
  if (!found?.kind)
    return html`<${Page} title=${say('page.read-a-cavity')} back=${back} site=${site.id} look="form"><p>${say('view.record-missing')}</p><//>`;
  const { number, name } = facet(found.room ?? undefined, 'identity');
  const over = [number ?? name, facet(found.kind, 'identity').mark].filter(Boolean).join(' · ');
  return html`<${Page} title=${say('page.read-a-cavity')} over=${over} back=${back} site=${site.id} look="form">
    <${Reader} key=${`${usual} ${ofSite}`} site=${site} found=${found} usual=${usual} ofSite=${ofSite} />
  <//>`;
}

/** What is typed, kept so that it is there again after the app was closed. @param {Site} site @param {import('./judged_group.js').Found} found @param {'in' | 'mm'} usual */
function useTyped(site, found, usual) {
  const draftKey = `draft.${found.group.id}`;
  const first = { row: 1, cavity: 1 };
  const [typed, setTyped] = useState(() => ({
    id: site.newId(),
    text: '',
    units: usual,
    confirmed: false,
    place: {
      ...first,
      position: nextPosition(found.group, counted(found.readings), { ...first, position: null }),
    },
    tape: kept('tape') ?? usualTape(usual),
    ...kept(draftKey),
  }));
  /** @param {Partial<Typed>} change */
  const change = (change) => {
    const next = { ...typed, ...change };
    setTyped(next);
    keep(draftKey, next.text ? next : undefined);
    if (change.tape) keep('tape', change.tape);
  };
  return /** @type {[Typed, (change: Partial<Typed>) => void]} */ ([typed, change]);
}

/** @param {{site: Site, found: import('./judged_group.js').Found, usual: Units, ofSite: Units}} props `ofSite`: what a bare number means to all */
function Reader({ site, found, usual, ofSite }) {
  const [typed, change] = useTyped(site, found, usual);
  const [saved, setSaved] = useState(/** @type {SavedReading | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [shown, setShown] = useState(/** @type {Reason | null} */ (null));
  const { fields } = site.spec.records.cavity_reading.facets.identity;
  const {
    record: plain,
    problem,
    question,
  } = draftOf({ ...typed, group: found.group.id, usual: ofSite }, fields);
  const draft = plain && typed.confirmed ? confirmedDraft(plain) : plain;
  const told = judged(found, draft);
  const settled = useSettled(typed.text);
  const asked = (settled && draft && told?.questions[draft.id]) || [];
  /** @param {string} text @param {Partial<Typed>} [more] */
  const write = (text, more = {}) => {
    setShown(null);
    change({ text, confirmed: false, ...more });
  };
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = problem ?? question ?? (draft ? null : { code: 'length.empty', facts: {} });
    setShown(wrong);
    if (wrong || !draft) return;
    setError(null);
    try {
      await site.save(savesOf(draft, told, found.readings, found.trials));
    } catch (failed) {
      setError(failed);
      return;
    }
    setSaved({ ...facet(draft, 'identity'), id: draft.id });
    const position = nextPosition(found.group, [...counted(found.readings), draft], typed.place);
    change({ id: site.newId(), text: '', confirmed: false, place: { ...typed.place, position } });
  };
  const again = () => {
    if (!saved) return;
    change({ place: { position: saved.position, row: saved.row, cavity: saved.cavity } });
    setSaved(null);
  };
  return html`<form class="reader" onSubmit=${save} novalidate>
    ${!found.readings.length && !saved && html`<${Caution}>${say('readings.caution')}<//>`}
    ${
      saved &&
      html`<${Saved} key=${saved.id} site=${site} onUndone=${() => setSaved({ ...saved, undone: true })}>${say('measuring.fixture-is-saved', { position: saved.position, as_entered: saved.as_entered })}<//>
      ${!saved.undone && html`<button type="button" class="button" onClick=${again}>${say('measuring.read-fixture-once-more', { position: saved.position })}</button>`}`
    }
    <${WhichCavity} place=${typed.place} most=${positionsOf(found.group).length} lamps=${facet(found.kind, 'lamps')}
      onPlace=${(/** @type {import('./reading_draft.js').Place} */ place) => change({ place })} />
    <${AboveCount} group=${found.group} position=${typed.place.position} />
    <${TapePad} text=${typed.text} units=${typed.units} graduation=${typed.tape.graduation} wrong=${shown !== null}
      ticks=${plain?.facets.identity?.length_ticks ?? null} onText=${write}
      onUnits=${(/** @type {'in' | 'mm'} */ units) => write(typed.text, { units })}>
      <${Live} told=${told} draft=${draft} asked=${asked.length > 0 && !typed.confirmed} />
    <//>
    ${shown && html`<p class="problem" role="alert">${say(shown.code, shown.facts)}</p>`}
    ${question && html`<${Meant} question=${question} onText=${write} />`}
    <${Asked} asked=${asked} confirmed=${typed.confirmed} units=${typed.units}
      onConfirm=${() => change({ confirmed: true })} onText=${write} />
    <${Problem} error=${error} />
    <button class="button main wide">${say('measuring.save-this-reading')}</button>
    <${WhichRow} lamps=${facet(found.kind, 'lamps')} />
    <${WhichTape} tape=${typed.tape} fields=${fields} onTape=${(/** @type {import('./reading_draft.js').Tape} */ tape) => change({ tape })} />
    <${BestFit} told=${told} found=${found} />
    <${OtherFits} told=${told} bars=${found.bars} />
  </form>`;
}

/** A fixture that is not among those counted: one of both is wrong, and the reading is kept. @param {{group: ViewRecord<'group'>, position: number | null}} props */
function AboveCount({ group, position }) {
  const { count } = facet(group, 'count');
  if (!count || position === null || positionsOf(group).includes(position)) return null;
  return html`<p class="notice" role="status">${say('readings.above-count', { count, position })}</p>`;
}

/** Whether nothing was typed for a moment: half a length is no reason to ask. @param {string} text */
function useSettled(text) {
  const [settled, setSettled] = useState(text);
  useEffect(() => {
    const waiting = setTimeout(() => setSettled(text), PAUSE_MS);
    return () => clearTimeout(waiting);
  }, [text]);
  return settled === text;
}

/** The verdict beside the reading, as it is typed; its place is kept while there is none. @param {{told: Judgement, draft: ViewRecord<'cavity_reading'> | undefined, asked: boolean}} props */
function Live({ told, draft, asked }) {
  const fit = bestOf(told) ?? told?.fits[0];
  const text = draft ? verdictText(fit) : '';
  return html`<div class="live" role="status" data-verdict=${draft && fit ? fit.verdict : ''}>
    <${SmallFit} fit=${draft ? fit : null} label="" />
    <span>${text}${asked && html` <a class="ask" href="#asked">${say('measuring.a-question')}</a>`}</span>
  </div>`;
}

/** A number that can mean two things: what it probably is, one tap away. @param {{question: Reason & {ticks: number}, onText: (text: string) => void}} props */
function Meant({ question, onText }) {
  const text = `${formatMm(question.ticks).replaceAll(',', '')} mm`;
  return html`<div class="notice stack" role="alert">
    <p>${say(question.code, question.facts)}</p>
    <button type="button" class="button" onClick=${() => onText(text)}>${say('measuring.yes', { text })}</button>
  </div>`;
}

/**
 * What else the reading may be. It blocks nothing: saved without an answer, it stays open until somebody gives one.
 *
 * @param {{asked: Reason[], confirmed: boolean, units: 'in' | 'mm', onConfirm: () => void, onText: (text: string) => void}} props
 */
function Asked({ asked, confirmed, units, onConfirm, onText }) {
  if (!asked.length) return null;
  if (confirmed) return html`<p class="notice">${say('readings.confirmed')}</p>`;
  /** @param {number} ticks */
  const textOf = (ticks) =>
    units === 'in' ? formatInches(ticks).replace('≈ ', '') : `${formatMm(ticks).replaceAll(',', '')} mm`;
  return html`<div class="notice question stack" role="alert" id="asked" tabindex="-1">
    ${asked.map(({ code, facts }) => html`<p key=${code}>${say(code, facts)}</p>`)}
    <div class="side-by-side">
      <button type="button" class="button" onClick=${onConfirm}>${say('measuring.it-is-what-the-tape')}</button>
      ${asked
        .filter(({ facts }) => facts.without_ticks)
        .map(
          ({ facts }) =>
            html`<button type="button" class="button" onClick=${() => onText(textOf(Number(facts.without_ticks)))}>${say('measuring.it-is', { text: textOf(Number(facts.without_ticks)) })}</button>`,
        )}
    </div>
    <p class="small muted">${say('readings.may-be-saved')}</p>
  </div>`;
}
