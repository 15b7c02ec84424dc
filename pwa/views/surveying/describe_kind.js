// A new kind, one question after another: a tap answers and goes on; what nobody has seen stays 'not seen'.

import { useState } from 'preact/hooks';
import { unitText } from '../coded_text.js';
import { html } from '../html.js';
import { numberFor } from '../inputs/typed_number.js';
import { Caution } from '../parts/parts.js';
import { choiceText, say } from '../words.js';

/** @typedef {Record<string, Value>} Described what is known of the kind, by facet */
/** @typedef {{facet: string, field: string, caution?: string}} Question */

/** In the order in which the body shows them. @type {Question[]} */
const QUESTIONS = [
  { facet: 'housing', field: 'body' },
  { facet: 'housing', field: 'optic' },
  { facet: 'housing', field: 'optic_state' },
  { facet: 'housing', field: 'magnet_holds', caution: 'caution.lens-open' },
  { facet: 'lamps', field: 'fitted', caution: 'caution.lamps' },
  { facet: 'lamps', field: 'diameter' },
  { facet: 'lamps', field: 'cap' },
  { facet: 'lamps', field: 'nominal_ft' },
  { facet: 'lamps', field: 'lamp_w' },
  { facet: 'lamps', field: 'rows' },
  { facet: 'lamps', field: 'lamps_end_to_end' },
  { facet: 'identity', field: 'alike' },
];
const NOT_SEEN = 'not-seen';
const NO_LAMPS = new Set(['built-in-led', 'none']);

/**
 * Questions that this kind is asked: nothing is asked of a lens that is not there, or of lamps that are not.
 *
 * @param {Described} described @returns {Question[]}
 */
export function questionsFor({ housing = {}, lamps = {} }) {
  return QUESTIONS.filter(({ facet, field }) => {
    if (field === 'optic_state') return housing.optic !== undefined && housing.optic !== 'none';
    return !(facet === 'lamps' && field !== 'fitted' && NO_LAMPS.has(lamps.fitted));
  });
}

/** @param {Described} described @param {Question} question @param {unknown} answer undefined: not seen */
export function answered(described, { facet, field }, answer) {
  const { [field]: _, ...others } = described[facet] ?? {};
  return { ...described, [facet]: answer === undefined ? others : { ...others, [field]: answer } };
}

/** What there is to choose from, without what cannot go with the answers before. @param {Site} site @param {Described} described @param {Question} question @returns {(string | number)[]} empty: it is typed */
function choicesOf(site, described, question) {
  const { facet, field } = question;
  const spec = site.spec.records.kind.facets[facet].fields[field];
  const all =
    spec.choices ??
    (spec.of.json === 'integer'
      ? Array.from({ length: Number(spec.max) - Number(spec.min) + 1 }, (_, at) => Number(spec.min) + at)
      : []);
  return all.filter((choice) => {
    if (choice === NOT_SEEN) return false;
    const value = answered(described, question, choice)[facet];
    return Object.keys(site.wrongTogether('kind', facet, value)).length === 0;
  });
}

/**
 * One question of a new kind.
 *
 * @param {object} props
 * @param {Site} props.site
 * @param {string} props.mark
 * @param {Described} props.described
 * @param {number} props.step
 * @param {(described: Described, step: number) => void} props.onStep
 * @param {Child} [props.children] further ways on
 */
export function DescribeKind({ site, mark, described, step, onStep, children }) {
  const questions = questionsFor(described);
  const question = questions[step];
  const { facet, field, caution } = question;
  const spec = site.spec.records.kind.facets[facet].fields[field];
  const now = described[facet]?.[field];
  /** @param {unknown} answer */
  const answer = (answer) => onStep(answered(described, question, answer), step + 1);
  const choices = choicesOf(site, described, question);
  return html`<section class="stack describe" aria-label=${say('survey.about-the-kind', { mark })}>
    <p class="muted small">${say('survey.question-of', { mark, step: step + 1, all: questions.length })}</p>
    ${caution && html`<${Caution}><span class="small">${say(caution)}</span><//>`}
    <h2 id="question">${spec.title}</h2>
    ${spec.help && html`<p class="small muted">${spec.help}</p>`}
    ${
      choices.length > 0
        ? html`<div class="answers" role="group" aria-labelledby="question">
            ${choices.map((choice) => html`<button type="button" class="button" key=${choice} aria-pressed=${choice === now} onClick=${() => answer(choice)}>${choiceText(choice)}</button>`)}
          </div>`
        : html`<${TypedNumber} key=${field} spec=${spec} value=${/** @type {number | undefined} */ (now)} onAnswer=${answer} />`
    }
    <div class="side-by-side">
      <button type="button" class="button plain" onClick=${() => answer(undefined)}>${say('survey.not-seen-go-on')}</button>
      ${step > 0 && html`<button type="button" class="button plain" onClick=${() => onStep(described, step - 1)}>${say('survey.one-question-back')}</button>`}
      <button type="button" class="button plain" onClick=${() => onStep(described, questions.length)}>${say('survey.describe-later')}</button>
      ${children}
    </div>
  </section>`;
}

/** @param {{spec: import('../forms/field_checks.js').Field, value: number | undefined, onAnswer: (answer: number | undefined) => void}} props */
function TypedNumber({ spec, value, onAnswer }) {
  const [wrong, setWrong] = useState(/** @type {import('../forms/field_checks.js').Problem | null} */ (null));
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const [input] = /** @type {HTMLFormElement} */ (event.currentTarget).elements;
    const { number, problem } = numberFor(spec, /** @type {HTMLInputElement} */ (input).value);
    if (problem) return setWrong(problem);
    return onAnswer(number);
  };
  return html`<form class="unit-beside" onSubmit=${submit} novalidate>
    <input class="large-number" inputmode="decimal" autocomplete="off" aria-label=${`${spec.title} [${unitText(spec.unit ?? '')}]`} aria-invalid=${wrong ? 'true' : 'false'} value=${value ?? ''} ref=${(/** @type {HTMLInputElement | null} */ input) => input?.focus()} />
    <button class="button main">${say('survey.go-on')}</button>
  </form>
  ${wrong && html`<p class="problem" role="alert">${say(wrong.code, wrong.facts)}</p>`}`;
}
