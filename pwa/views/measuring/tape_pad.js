// One cavity reading after another on a ladder: all that a reading needs stands in fixed places, nothing scrolls.

import { useRef, useState } from 'preact/hooks';
import { isNever } from '../../rules/fit/not_converted.js';
import { facet, positionsOf } from '../../rules/survey.js';
import { keep, kept } from '../../store/kept.js';
import { ownName } from '../drafts.js';
import { useSiteUnits, useUnits } from '../forms/units.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { useSayIt } from '../inputs/say_it.js';
import { ReadingField, TapeKeys } from '../inputs/tape.js';
import { faceOf, startOf } from '../inputs/tape_text.js';
import { useTypedAnywhere } from '../inputs/typed_anywhere.js';
import { PlaceLine, WhichRow, WhichTape } from '../inputs/which_cavity.js';
import { SmallFit } from '../parts/fit_drawing.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Caution, Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { say } from '../words.js';
import { askedAtSave } from './asked_at_save.js';
import { tapeCaution, useCautionOfTheDay } from './caution_of_the_day.js';
import { BestFit, NeverFits, OtherFits, verdictText } from './fits.js';
import { barNames, bestOf, counted, findGroup, judged } from './judged_group.js';
import { QuestionPanel } from './question_panel.js';
import {
  confirmedDraft,
  draftOf,
  followedTape,
  nextPosition,
  savesOf,
  unitOfTape,
  usualTape,
} from './reading_draft.js';

/**
 * @typedef {import('./reading_draft.js').Place} Place
 * @typedef {import('./reading_draft.js').Tape} Tape
 *
 * @typedef {object} Typed what stands in the form
 * @property {string} id of the reading
 * @property {string} text
 * @property {Units} units
 * @property {boolean} anew the text was brought back or asked about: a digit begins it anew
 * @property {boolean} confirmed it is what the tape shows
 * @property {boolean} left what is asked about it stays open
 * @property {boolean} heard it was said, and nobody has said yes to it yet
 * @property {Place} place
 * @property {Tape} tape
 *
 * @typedef {object} Weighed what was typed, as it is read and judged
 * @property {Typed} typed
 * @property {Partial<Record<Units, Tape>>} known tapes of this phone by their unit
 * @property {ReturnType<typeof draftOf>} read
 * @property {ViewRecord<'cavity_reading'> | undefined} draft
 * @property {Judgement | null} told
 * @property {Reason[]} sense what the rules ask about it
 *
 * @typedef {{id: string, text: string, place: Place, as_entered: string, undone?: boolean}} SavedReading
 * @typedef {Record<string, SpecField>} Fields of a reading, from the spec
 * @typedef {import('./judged_group.js').Found} Found
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
    return html`<${Page} title=${say('page.read-a-cavity')} back=${back} site=${site.id} look="form"><${NotHere} site=${site} /><a class="button main wide" href=${back}>${say('page.back')}</a><//>`;
  const { number, name } = facet(found.room ?? undefined, 'identity');
  const over = [number ?? name, facet(found.kind, 'identity').mark].filter(Boolean).join(' · ');
  if (isNever(found.kind))
    return html`<${Page} title=${say('page.read-a-cavity')} over=${over} back=${back} site=${site.id}><${NeverFits} found=${found} /><a class="button main wide" href=${back}>${say('page.back')}</a><//>`;
  return html`<${Page} title=${say('page.read-a-cavity')} over=${over} back=${back} site=${site.id} look="form ladder">
    <${Reader} key=${`${usual} ${ofSite}`} site=${site} found=${found} usual=${usual} ofSite=${ofSite} />
  <//>`;
}

/** Nothing typed, nothing answered. */
const FRESH = { text: '', anew: false, confirmed: false, left: false, heard: false };

/** What is typed, kept so that it is there again after the app was closed. @param {Site} site @param {Found} found @param {Units} usual */
function useTyped(site, found, usual) {
  const draftKey = ownName(`draft.${found.group.id}`);
  const first = { row: 1, cavity: 1 };
  const [typed, setTyped] = useState(() => ({
    id: site.newId(),
    ...FRESH,
    units: usual,
    place: {
      ...first,
      position: nextPosition(found.group, counted(found.readings), { ...first, position: null }),
    },
    tape: kept('tape') ?? usualTape(usual),
    ...kept(draftKey),
  }));
  /** @param {Typed} next */
  const put = (next) => {
    setTyped(next);
    keep(draftKey, next.text ? next : undefined);
  };
  return /** @type {[Typed, (next: Typed) => void]} */ ([typed, put]);
}

/** The tape in use, and by its unit: lengths typed in that unit were read with it. @param {Tape} tape */
function keepTape(tape) {
  keep('tape', tape);
  const unit = unitOfTape(tape);
  if (unit) keep(`tape.${unit}`, tape);
}

/** @returns {Partial<Record<Units, Tape>>} */
const knownTapes = () => ({ in: kept('tape.in'), mm: kept('tape.mm') });

/** @param {Typed} typed @param {Found} found @param {Units} usual @param {Fields} fields @returns {Weighed} */
function weigh(typed, found, usual, fields) {
  const known = knownTapes();
  const read = draftOf({ ...typed, group: found.group.id, usual, known }, fields);
  const draft = read.record && typed.confirmed ? confirmedDraft(read.record) : read.record;
  const told = judged(found, draft);
  return { typed, known, read, draft, told, sense: (draft && told?.questions[draft.id]) || [] };
}

/** The length that was read last, here or else in the group. @param {SavedReading | null} saved @param {Found} found */
function lastEntered(saved, { readings }) {
  const last = counted(readings).at(-1);
  return saved?.as_entered ?? facet(last, 'identity').as_entered ?? '';
}

/** @param {{site: Site, found: Found, usual: Units, ofSite: Units}} props `ofSite`: what a bare number means to all */
function Reader({ site, found, usual, ofSite }) {
  const [typed, put] = useTyped(site, found, usual);
  const [saved, setSaved] = useState(/** @type {SavedReading | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [wrong, setWrong] = useState(/** @type {Reason | null} */ (null));
  const [asking, setAsking] = useState(false);
  const [face, setFace] = useState(/** @type {import('../inputs/tape_text.js').Face | null} */ (null));
  const field = useRef(/** @type {HTMLInputElement | null} */ (null));
  const saving = useRef(false);
  const { fields } = site.spec.records.cavity_reading.facets.identity;
  const lamps = facet(found.kind ?? undefined, 'lamps');
  const [cautionOpen, turnCaution] = useCautionOfTheDay(lamps);
  const now = weigh(typed, found, ofSite, fields);
  const asked = asking ? askedAtSave(now) : null;
  const tapeFor = (/** @type {Units} */ unit) => followedTape(unit, typed.tape, now.known) ?? typed.tape;

  /** @param {string} text @param {Partial<Typed>} [more] */
  const write = (text, more = {}) => {
    setWrong(null);
    setAsking(false);
    if (!text) setFace(null);
    if (text && cautionOpen) turnCaution(false);
    put({ ...typed, ...FRESH, text, ...more });
  };

  /** Saves what was typed, or says what is wrong with it, or asks. @param {Typed} next */
  const attempt = async (next) => {
    const weighed = weigh(next, found, ofSite, fields);
    const { read, draft, told } = weighed;
    const problem = read.problem ?? (next.text.trim() ? null : { code: 'length.empty', facts: {} });
    const question = problem ? null : askedAtSave(weighed);
    setWrong(problem);
    setAsking(question !== null);
    put(question ? { ...next, anew: true } : next);
    if (problem || question || !draft || saving.current) return;
    setError(null);
    saving.current = true;
    try {
      await site.save(savesOf(draft, told, found.readings, found.trials));
    } catch (failed) {
      return setError(failed);
    } finally {
      saving.current = false;
    }
    const { as_entered } = facet(draft, 'identity');
    setSaved({ id: draft.id, text: next.text, place: next.place, as_entered });
    setFace(null);
    const position = nextPosition(found.group, [...counted(found.readings), draft], next.place);
    const place = { ...next.place, position };
    put({ ...next, ...FRESH, id: site.newId(), place });
  };
  /** @param {Partial<Typed>} change */
  const answer = (change) => {
    if (change.tape) {
      keepTape(typed.tape);
      keepTape(change.tape);
    }
    const sameText = change.text === undefined;
    attempt({ ...typed, ...(sameText ? {} : { confirmed: false, left: false }), ...change });
  };
  const undone = () => {
    if (!saved) return;
    setSaved({ ...saved, undone: true });
    setWrong(null);
    setAsking(false);
    setFace(null);
    put({ ...typed, ...FRESH, id: site.newId(), text: saved.text, place: saved.place, anew: true });
  };
  const sayIt = useSayIt({
    heard: (text) => {
      write(text, { heard: true });
      setAsking(true);
    },
    unclear: (said) =>
      setWrong({ code: said ? 'ladder.not-understood' : 'ladder.nothing-heard', facts: { said } }),
    answered: (yes) => typed.heard && (yes ? answer({ heard: false }) : write('')),
  });
  useTypedAnywhere(field, typed.anew, () => attempt(typed));
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    attempt(typed);
  };
  return html`<form class="reader" onSubmit=${submit} novalidate>
      <${PlaceLine} place=${typed.place} most=${positionsOf(found.group).length} lamps=${lamps}
        onPlace=${(/** @type {Place} */ place) => put({ ...typed, place })} onEnter=${() => field.current?.focus()} />
      <${ReadingField} field=${field} text=${typed.text} units=${typed.units} wrong=${wrong !== null}
        ticks=${now.read.record?.facets.identity?.length_ticks ?? null} onText=${write} sayIt=${sayIt} />
      ${
        cautionOpen
          ? html`<div class="reader-caution"><${Caution}>${say(tapeCaution(lamps))}<//></div>`
          : html`<${Live} now=${now} found=${found} wrong=${wrong} />
            <${Told} site=${site} found=${found} position=${typed.place.position} error=${error} saved=${saved}
              typing=${typed.text !== ''} onUndone=${undone} onCaution=${() => turnCaution(true)} />`
      }
      ${
        asked
          ? html`<${QuestionPanel} key=${asked.said[0].code} asked=${asked} onAnswer=${answer} />
            <button type="button" class="button wide save" onClick=${() => (typed.heard ? write('') : setAsking(false))}>${say('ladder.type-it-again')}</button>`
          : html`<${TapeKeys} face=${faceOf(typed.text, typed.units, face)} text=${typed.text} units=${typed.units} anew=${typed.anew}
              start=${startOf(lastEntered(saved, found), typed.units, ofSite)} graduation=${tapeFor('in').graduation} onText=${write} onFace=${setFace}
              onUnits=${(/** @type {Units} */ units) => write(typed.text, { units })} />
            <button class="button main wide save">${say('measuring.save-this-reading')}</button>`
      }
    </form>
    <div class="reader-more stack">
      <${BestFit} told=${now.told} found=${found} />
      <${WhichRow} lamps=${lamps} />
      <${WhichTape} tape=${tapeFor(now.read.unit ?? typed.units)} fields=${fields} onTape=${(
        /** @type {Tape} */ tape,
      ) => {
        keepTape(tape);
        put({ ...typed, tape });
      }} />
      ${sayIt.hearing !== 'ready' && sayIt.hearing !== 'asking' && html`<p class="small muted" data-hearing=${sayIt.hearing}>${say(`ladder.hearing-${sayIt.hearing}`)}</p>`}
      ${!cautionOpen && html`<${Caution}>${say(tapeCaution(lamps))}<//>`}
      <${OtherFits} told=${now.told} bars=${found.bars} />
    </div>`;
}

/**
 * The verdict in its fixed place: with the reading as it is typed, else as it stands; or why what was typed is no length.
 *
 * @param {{now: Weighed, found: Found, wrong: Reason | null}} props
 */
function Live({ now: { told, draft, typed }, found, wrong }) {
  if (wrong) return html`<p class="live wrong problem" role="alert">${say(wrong.code, wrong.facts)}</p>`;
  const fit = bestOf(told) ?? told?.fits[0] ?? null;
  const shown = draft || (!typed.text && counted(found.readings).length > 0) ? fit : null;
  return html`<div class="live" role="status" data-verdict=${draft && fit ? fit.verdict : ''}>
    <${SmallFit} fit=${shown} label="" />
    <p>${shown && verdictText(shown)}${shown && html`<span class="name">${barNames(shown.bars, found.bars)}</span>`}</p>
  </div>`;
}

/**
 * What was done last, in its fixed place: what failed, 'saved' with the way back, or a fixture that is not among those
 * counted; before all that the way to the caution.
 *
 * @param {object} props
 * @param {Site} props.site
 * @param {Found} props.found
 * @param {number | null} props.position where the next reading goes
 * @param {unknown} props.error
 * @param {SavedReading | null} props.saved
 * @param {boolean} props.typing whether something is typed
 * @param {() => void} props.onUndone
 * @param {() => void} props.onCaution
 */
function Told({ site, found: { group }, position, error, saved, typing, onUndone, onCaution }) {
  const { count } = facet(group, 'count');
  const beyond = count && position !== null && !positionsOf(group).includes(position);
  if (error) return html`<div class="told"><${Problem} error=${error} /></div>`;
  if (beyond && (typing || !saved || saved.undone))
    return html`<div class="told"><p class="beyond" role="status">${say('readings.above-count', { count, position })}</p></div>`;
  if (!saved)
    return html`<div class="told"><button type="button" class="button plain" onClick=${onCaution}>${say('ladder.caution')}</button></div>`;
  if (saved.undone)
    return html`<div class="told"><p class="saved" role="status">${say('page.taken-back')}</p></div>`;
  const { place, as_entered } = saved;
  return html`<div class="told">
    <${Saved} key=${saved.id} site=${site} onUndone=${onUndone}>${say('measuring.fixture-is-saved', { position: place.position, as_entered })}<//>
  </div>`;
}
