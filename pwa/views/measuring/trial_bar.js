// A trial bar: which bar, into which cavity, whether it went in by hand, and what gap was left.

import { useState } from 'preact/hooks';
import { facet, has, positionsOf } from '../../rules/survey.js';
import { draftOf } from '../drafts.js';
import { tapeCaution } from './caution_of_the_day.js';
import { trialText, verdictText } from './fits.js';
import { checkFields } from '../forms/field_checks.js';
import { useUnits } from '../forms/units.js';
import { inOrder, placeOf } from './group_readings.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Chips, FieldInput } from '../inputs/fields.js';
import { WhichCavity, WhichRow } from '../inputs/which_cavity.js';
import { barNames, bestOf, counted, findGroup, judged } from './judged_group.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Caution, Problem } from '../parts/parts.js';
import { PhotoButton } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { nextPosition } from './reading_draft.js';
import { say } from '../words.js';

/** More rows of bars than this nobody carries up to try. */
const MOST_OFFERED = 6;
const WENT_IN = 'went-in-by-hand';

/** What stands in the form. @typedef {{id: string, bars: string, place: import('./reading_draft.js').Place | null, went?: string, gap?: number}} Typed */
/** @typedef {{id: string, names: string, position: number | null, went: string}} SavedTrial */

/** @param {{site: Site, params: {id: string}}} props */
export function TrialBar({ site, params: { id } }) {
  const found = useLive(() => findGroup(site, id), [id]);
  const units = useUnits(site);
  if (found === undefined) return null;
  const back = `/s/${site.id}/group/${id}`;
  const told = found && judged(found);
  if (!found?.kind || !told)
    return html`<${Page} title=${say('measuring.a-trial-bar')} back=${back} site=${site.id} look="form"><${NotHere} site=${site} /><//>`;
  const { number, name } = facet(found.room ?? undefined, 'identity');
  const over = [number ?? name, facet(found.kind, 'identity').mark].filter(Boolean).join(' · ');
  return html`<${Page} title=${say('measuring.a-trial-bar')} over=${over} back=${back} site=${site.id} look="form">
    <${Form} site=${site} found=${found} told=${told} units=${units} />
  <//>`;
}

/** Rows of bars worth trying: tight ones first, then all that are not too long. @param {Judgement} told @returns {Fit[]} */
function offered(told) {
  const able = told.fits.filter((fit) => fit.verdict !== 'too long' || fit.refused);
  const tight = able.filter((fit) => fit.verdict === 'tight');
  return [...new Set([...tight, ...able])].slice(0, MOST_OFFERED);
}

/**
 * Where to try next: what the rules name, else the cavity that read shortest, else a fixture that was not tried.
 *
 * @param {Fit | undefined} fit @param {import('./judged_group.js').Found} found
 */
function nextPlace(fit, { group, readings, trials }) {
  const tried = trials.filter((each) => !has(each, 'voided'));
  const [shortest] = tried.length ? [] : [...counted(readings)].sort(byLength);
  const named = fit?.trial?.next ?? (shortest ? placeOf(shortest) : null);
  if (named) return { position: named[0], row: named[1], cavity: named[2] };
  const first = { row: 1, cavity: 1 };
  return { ...first, position: nextPosition(group, tried, { ...first, position: null }) };
}

/** @param {ViewRecord<'cavity_reading'>} a @param {ViewRecord<'cavity_reading'>} b */
const byLength = (a, b) =>
  facet(a, 'identity').length_ticks - facet(b, 'identity').length_ticks || inOrder(a, b);

/** A row of bars as the record has it: at most two sorts, the longer first. @param {string[]} bars */
function inRecord(bars) {
  const [first] = bars;
  const number = bars.filter((each) => each === first).length;
  const then = bars[number];
  return { bar: first, number, ...(then && { then_bar: then, then_number: bars.length - number }) };
}

/** @param {{site: Site, found: import('./judged_group.js').Found, told: Judgement, units: 'in' | 'mm'}} props */
function Form({ site, found, told, units }) {
  const { fields } = site.spec.records.trial_bar.facets.identity;
  const rows = offered(told);
  const best = rows.find((each) => each === bestOf(told)) ?? rows[0];
  /** @type {import('../drafts.js').KeptDraft<Typed>} */
  const draft = draftOf(site.id, `${found.group.id}.trial`);
  const [typed, setTyped] = useState(
    /** @returns {Typed} */ () =>
      draft.at ?? { id: site.newId(), bars: best?.bars.join(' ') ?? '', place: null },
  );
  const [half] = useState(draft.halfTyped.gap_ticks);
  const [saved, setSaved] = useState(/** @type {SavedTrial | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [unread, setUnread] = useState(/** @type {unknown} */ (half?.problem ?? null));
  /** @param {Partial<Typed>} change */
  const change = (change) => {
    const next = { ...typed, ...change };
    setTyped(next);
    draft.keep(next);
  };
  const names = new Map(rows.map((each) => [barNames(each.bars, found.bars), each.bars.join(' ')]));
  const chosen = [...names].find(([, bars]) => bars === typed.bars)?.[0];
  const fit = rows.find((each) => each.bars.join(' ') === typed.bars);
  const place = typed.place ?? nextPlace(fit, found);
  const sockets = tapeCaution(facet(found.kind, 'lamps'));
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!chosen) return setError({ code: 'readings.trial-which', facts: {} });
    if (!typed.went) return setError({ code: 'readings.trial-went', facts: {} });
    const gap = typed.went === WENT_IN && typed.gap !== undefined ? { gap_ticks: typed.gap } : {};
    const value = {
      parent: found.group.id,
      ...place,
      ...inRecord(typed.bars.split(' ')),
      went_in: typed.went,
      ...gap,
    };
    const wrong = unread ?? Object.values(checkFields(fields, value))[0];
    if (wrong) return setError(wrong);
    setError(null);
    try {
      await site.save([{ record: typed.id, type: 'trial_bar', facet: 'identity', value, seen: null }]);
    } catch (failed) {
      return setError(failed);
    }
    setSaved({ id: typed.id, names: chosen, position: place.position, went: typed.went });
    setTyped({ ...typed, id: site.newId(), went: undefined, gap: undefined, place: null });
    draft.forget();
  };
  return html`<form class="stack" onSubmit=${save} novalidate>
    ${sockets !== 'readings.caution' && html`<${Caution}>${say(sockets)}<//>`}
    <${Caution}>${say('readings.trial-caution')}<//>
    ${saved && html`<${JustSaved} key=${saved.id} site=${site} saved=${saved} onUndone=${() => setSaved(null)} />`}
    <${Chips} name="bars" title=${fields.bar.title} choices=${[...names.keys()]} value=${chosen} onChange=${(/** @type {string} */ name) => change({ bars: names.get(name) })} />
    ${fit && html`<p class="small"><span class="strong">${verdictText(fit)}.</span> ${trialText(fit)}</p>`}
    <${WhichCavity} place=${place} most=${positionsOf(found.group).length} lamps=${facet(found.kind, 'lamps')}
      onPlace=${(/** @type {import('./reading_draft.js').Place} */ at) => change({ place: at })} />
    <${Chips} name="went-in" title=${fields.went_in.title} help=${fields.went_in.help} choices=${fields.went_in.choices} value=${typed.went}
      onChange=${(/** @type {string} */ went) => change({ went })} />
    ${
      typed.went === WENT_IN &&
      html`<${FieldInput} key=${typed.id} name="gap_ticks" field=${fields.gap_ticks} value=${typed.gap} units=${units} site=${site} halfTyped=${half?.text}
      onChange=${(
        /** @type {number | undefined} */ gap,
        /** @type {import('../forms/field_checks.js').Problem | null | undefined} */ problem,
        /** @type {string | undefined} */ text = '',
      ) => {
        setUnread(problem ?? null);
        draft.keepHalfTyped(problem ? { gap_ticks: { text, problem } } : {});
        change({ gap });
      }} />`
    }
    <${Problem} error=${error} />
    <button class="button main wide">${say('measuring.save-this-trial')}</button>
    <${WhichRow} lamps=${facet(found.kind, 'lamps')} />
    <p class="small muted">${say('readings.trial-what')}</p>
  </form>`;
}

/** @param {{site: Site, saved: SavedTrial, onUndone: () => void}} props */
function JustSaved({ site, saved, onUndone }) {
  return html`<div class="stack">
    <${Saved} site=${site} onUndone=${onUndone}>${say('measuring.trial-saved', { position: saved.position, names: saved.names, went: saved.went })}<//>
    <${PhotoButton} site=${site} subject=${saved.id} purpose="sockets" label=${say('measuring.photo-of-the-bar')} />
  </div>`;
}
