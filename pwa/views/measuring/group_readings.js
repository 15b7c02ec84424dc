// The readings of a group: what each says, what is asked about it, and what can be done with it.

import { useState } from 'preact/hooks';
import { formatInches } from '../../rules/measuring/lengths.js';
import { facet, has } from '../../rules/survey.js';
import { html } from '../html.js';
import { Mark, Problem } from '../parts/parts.js';
import { PhotoButton, Photos } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { VoidForm } from '../parts/void_form.js';
import { mayWrite } from '../record_screens.js';
import { choiceText, enteredText, mmText, say } from '../words.js';

const SHOWS = 'it-is-what-the-tape-shows';
const WRONG = 'it-was-read-wrong';

/** @typedef {ViewRecord<'cavity_reading'> | ViewRecord<'trial_bar'>} Placed */

/** @param {Placed} reading @returns {[number, number, number]} */
export const placeOf = (reading) => {
  const { position, row, cavity } = facet(reading, 'identity');
  return [position, row, cavity];
};

/** @param {Placed} a @param {Placed} b */
export const inOrder = (a, b) => {
  const [left, right] = [placeOf(a), placeOf(b)];
  return left[0] - right[0] || left[1] - right[1] || left[2] - right[2] || (a.id < b.id ? -1 : 1);
};

/** Where a reading or a trial was made. @param {Placed} reading */
export function placeText(reading) {
  const [position, row, cavity] = placeOf(reading);
  return [
    say('measuring.fixture', { position }),
    row > 1 && say('measuring.row', { row }),
    cavity > 1 && say('measuring.cavity', { cavity }),
  ]
    .filter(Boolean)
    .join(', ');
}

/** The length as on the other tape. @param {string} entered @param {number} ticks */
const otherTape = (entered, ticks) =>
  /[mM]$/.test(entered) ? `${formatInches(ticks)} in` : `${mmText(ticks)} mm`;

/** @param {{site: Site, readings: RecordView<'cavity_reading'>[], questions: Record<string, Reason[]>}} props */
export function Readings({ site, readings, questions }) {
  if (!readings.length) return null;
  return html`<section class="stack" aria-label=${say('measuring.readings')}>
    <h2>${say('measuring.readings')}</h2>
    <ul class="readings">
      ${[...readings].sort(inOrder).map((each) => html`<${Reading} key=${each.id} site=${site} reading=${each} asked=${questions[each.id] ?? []} />`)}
    </ul>
  </section>`;
}

/** What stands of a reading, in a word. @param {ViewRecord<'cavity_reading'>} reading @param {Reason[]} asked @returns {[string, 'attention' | 'done' | ''] | null} */
function stateOf(reading, asked) {
  if (has(reading, 'voided')) return [say('measuring.state.voided'), ''];
  if (has(reading, 'set_aside'))
    return [
      say('measuring.set-aside', { reason: choiceText(facet(reading, 'set_aside').reason) }),
      'attention',
    ];
  const { answer } = facet(reading, 'confirmed');
  if (answer === WRONG) return [say('measuring.read-wrong'), ''];
  if (answer === SHOWS) return [say('measuring.state.confirmed'), 'done'];
  if (asked.length) return [say('measuring.state.question'), 'attention'];
  return null;
}

/** @param {{site: Site, reading: RecordView<'cavity_reading'>, asked: Reason[]}} props */
function Reading({ site, reading, asked }) {
  const state = stateOf(reading, asked);
  const { as_entered: entered, length_ticks: ticks, instrument } = facet(reading, 'identity');
  const [open, setOpen] = useState(state?.[0] === 'question');
  const out = has(reading, 'voided') || facet(reading, 'confirmed').answer === WRONG;
  return html`<li data-reading=${reading.id}>
    <details open=${open} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpen(event.currentTarget.open)}>
      <summary>
        <span><span class="title ${out ? 'out' : ''}">${enteredText(entered ?? '', site.units)}</span><span class="detail">${placeText(reading)} · ${otherTape(entered, ticks)} · ${choiceText(instrument)}</span></span>
        <span class="marks">
          ${state && html`<${Mark} look=${state[1]}>${state[0]}<//>`}
          ${Object.keys(reading.mine).length > 0 && html`<${Mark} look="unsent">${say('page.not-sent')}<//>`}
        </span>
      </summary>
      <${Actions} site=${site} reading=${reading} asked=${asked} />
    </details>
  </li>`;
}

/** @param {{site: Site, reading: RecordView<'cavity_reading'>, asked: Reason[]}} props */
function Actions({ site, reading, asked }) {
  const [told, setTold] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {string} name @param {Value} value @param {string} said */
  const write = async (name, value, said) => {
    setError(null);
    try {
      await site.save([
        { record: reading.id, type: reading.type, facet: name, value, seen: reading.seen[name] ?? null },
      ]);
      setTold(said);
    } catch (failed) {
      setError(failed);
    }
  };
  const states = ['voided', 'set_aside', 'confirmed'].filter((name) => has(reading, name));
  const free = !has(reading, 'voided') && !has(reading, 'set_aside');
  if (!mayWrite(site, 'cavity_reading', 'voided'))
    return html`<div class="stack actions">
      ${asked.map(({ code, facts }) => html`<p key=${code}>${say(code, facts)}</p>`)}
      ${has(reading, 'voided') && html`<p>${say('measuring.voided', { reason: facet(reading, 'voided').reason })}</p>`}
      <${Photos} site=${site} subject=${reading.id} />
    </div>`;
  return html`<div class="stack actions">
    ${asked.map(({ code, facts }) => html`<p key=${code}>${say(code, facts)}</p>`)}
    ${told && html`<${Saved} key=${told} site=${site} onUndone=${() => setTold('')}>${told}<//>`}
    <${Problem} error=${error} />
    ${
      free &&
      html`<div class="side-by-side">
      ${facet(reading, 'confirmed').answer !== SHOWS && html`<button class="button" onClick=${() => write('confirmed', { answer: SHOWS }, say('measuring.confirmed'))}>${say('measuring.it-is-what-the-tape')}</button>`}
      ${facet(reading, 'confirmed').answer !== WRONG && html`<button class="button" onClick=${() => write('confirmed', { answer: WRONG }, say('measuring.it-no-longer-counts'))}>${say('measuring.it-was-read-wrong')}</button>`}
    </div>
    <div class="field" role="group" aria-label=${say('measuring.set-this-cavity-aside')}>
      <p class="label">${say('measuring.set-this-cavity-aside')}</p>
      <div class="side-by-side">
        ${site.spec.records.cavity_reading.facets.set_aside.fields.reason.choices.map(
          (/** @type {string} */ each) =>
            html`<button class="button" key=${each} onClick=${() => write('set_aside', { reason: each }, say('measuring.set-aside-because', { each: choiceText(each) }))}>${choiceText(each)}</button>`,
        )}
      </div>
    </div>`
    }
    ${
      !has(reading, 'voided') &&
      html`<${VoidForm} id=${reading.id} onVoid=${(/** @type {string} */ reason) => write('voided', { reason }, say('measuring.voided-it-no-longer-counts'))} />`
    }
    ${has(reading, 'voided') && html`<p>${say('measuring.voided', { reason: facet(reading, 'voided').reason })}</p>`}
    ${states.map((name) => html`<button class="button plain" key=${name} onClick=${() => write(name, {}, say('measuring.it-counts-as-before'))}>${say(TAKEN_BACK[name])}</button>`)}
    <${Photos} site=${site} subject=${reading.id} />
    <${PhotoButton} site=${site} subject=${reading.id} purpose="sockets" label=${say('measuring.photo-of-these-sockets')} />
  </div>`;
}

/** @type {Record<string, string>} */
const TAKEN_BACK = {
  voided: 'measuring.take-back.voided',
  set_aside: 'measuring.take-back.set-aside',
  confirmed: 'measuring.take-back.confirmed',
};
