// What fits into a group, shown: the best row of bars large, the rest one tap away, each with its reasons and terms.

import { isNever, NEVER, notConverted } from '../../rules/fit/not_converted.js';
import { facet } from '../../rules/survey.js';
import { html } from '../html.js';
import { FitDrawing, FitParts, partsOf, SmallFit, verdictClass } from '../parts/fit_drawing.js';
import { Facts } from '../parts/parts.js';
import { WhereToHold } from '../parts/where_to_hold.js';
import { lengthText, say } from '../words.js';
import { barNames, bestOf } from './judged_group.js';
import { NextStep } from './next_step.js';
import { Risk } from './risk.js';

/** Terms in the order of the sum, with the sign they have in it. @type {Array<[string, string, 1 | -1]>} */
const TERMS = [
  ['trusted_ticks', 'fit.term-trusted', 1],
  ['bars_ticks', 'fit.term-bars', -1],
  ['tolerance_ticks', 'fit.term-tolerance', -1],
  ['joints_ticks', 'fit.term-joints', -1],
  ['change_ticks', 'fit.term-change', -1],
  ['end_gaps_ticks', 'fit.term-end-gaps', -1],
];

/** How sure the verdict is, in words: never more than it rests on. @param {Fit | null | undefined} fit @returns {string} */
export function degreeText(fit) {
  if (!fit) return say('degree.cannot-tell');
  if (fit.refused) return say('degree.refused');
  const { degree, n, of } = fit.degree ?? { degree: fit.verdict.replace(' ', '-'), n: 0, of: 0 };
  return say(`degree.${degree}`, { n, of: of ?? '?' });
}

/** What is to spare, short, or too long; '' where there is no such number. @param {Fit | null | undefined} fit @returns {string} */
export function numberText(fit) {
  if (!fit || fit.refused || fit.verdict === 'cannot tell') return '';
  const { verdict, clearance_ticks: clearance, terms } = fit;
  if (verdict === 'too long') return say('degree.over', { over_ticks: -terms.nominal_clearance_ticks });
  return Number(clearance) < 0
    ? say('degree.short', { short_ticks: -Number(clearance) })
    : say('degree.spare', { spare_ticks: clearance });
}

/** The verdict in a line: how sure it is, and the number; the name of the bar stands beside it. @param {Fit | null | undefined} fit @returns {string} */
export function verdictText(fit) {
  const [degree, number] = [degreeText(fit), numberText(fit)];
  return number ? say('degree.with-number', { degree, number }) : degree;
}

/** @param {Fit} fit */
const reasonsText = (fit) => fit.reasons.map(({ code, facts }) => say(code, facts));

/** What trials of it say so far. @param {Fit} fit @returns {string} */
export const trialText = (fit) =>
  fit.reasons
    .filter(({ code }) => code.startsWith('fit.trial-'))
    .map(({ code, facts }) => say(code, facts))
    .join(' ');

/** The sum that gives the clearance, line by line. @param {{fit: Fit}} props */
function Terms({ fit }) {
  const lines = TERMS.filter(([name]) => fit.terms[name] !== undefined).map(
    ([name, code, sign]) =>
      /** @type {[string, string]} */ ([say(code), (sign < 0 ? '− ' : '') + lengthText(fit.terms[name])]),
  );
  if (fit.clearance_ticks !== null) lines.push([say('fit.term-clearance'), lengthText(fit.clearance_ticks)]);
  return html`<${Facts} facts=${lines} />`;
}

/** The best, drawn. @param {{told: Judgement, found: import('./judged_group.js').Found}} props */
export function BestFit({ told, found }) {
  if (isNever(found.kind)) return html`<${NeverFits} found=${found} />`;
  const fit = bestOf(told);
  const shown = fit ?? told?.fits[0] ?? null;
  const text = found.bars.length > 0 ? degreeText(shown) : say('set-up.not-judged');
  const names = shown ? barNames(shown.bars, found.bars) : '';
  const number = numberText(shown);
  return html`<figure class="best-fit" data-verdict=${shown?.verdict ?? 'cannot tell'} data-degree=${told?.degree?.degree}>
    <figcaption>
      <p class="verdict ${shown ? verdictClass(shown) : ''}">${text}</p>
      ${shown && html`<p class="of-bar">${number ? say('degree.of-bar', { bars: names, number }) : names}${shown.unsuited.length > 0 && say('measuring.but-not-for-here')}</p>`}
      ${told && !shown && html`<p>${say(found.bars.length > 0 ? 'readings.no-bars' : 'set-up.no-catalogue')}</p>`}
    </figcaption>
    <${WhyUnsure} degree=${told?.degree} />
    ${told?.degree?.next && html`<${NextStep} step=${told.degree.next} found=${found} />`}
    <${FitDrawing} fit=${shown} label=${text} />
    ${shown && html`<${FitParts} fit=${shown} />`}
    ${shown && partsOf(shown) && html`<p class="muted small">${say('drawing.both')}</p>`}
    <${Hold} found=${found} open=${told?.trusted.n === 0} />
    ${told && html`<${Basis} told=${told} />`}
    ${shown && readingsAreEnough(shown, told.trusted) && html`<p class="small">${say('readings.enough-alone', told.trusted)}</p>`}
    ${shown?.trial && html`<p class="small strong">${trialText(shown)}</p>`}
    ${told && html`<${Risk} told=${told} found=${found} />`}
    ${
      shown &&
      html`<details><summary class="turn">${say('measuring.why-and-from-what')}</summary><div class="stack">
        ${reasonsText(shown).map((/** @type {string} */ each) => html`<p>${each}</p>`)}
        <${Terms} fit=${shown} />
        <p class="muted">${say('suits.looked-at')}</p>
      </div></details>`
    }
  </figure>`;
}

/** What stands in place of any verdict where no bar goes in, whatever is read. @param {{found: import('./judged_group.js').Found}} props */
export function NeverFits({ found }) {
  const against = notConverted(/** @type {ViewRecord<'kind'>} */ (found.kind), found.room ?? undefined);
  const held_by = against.filter(({ code }) => NEVER.includes(code));
  return html`<figure class="best-fit" data-verdict="never" data-degree="never">
    <figcaption><p class="verdict unmeasured">${say('degree.never')}</p></figcaption>
    <${WhyUnsure} degree=${{ held_by }} />
    <p>${say('degree.nothing-to-read')}</p>
  </figure>`;
}

/** Whether the lamps prove the greater cavity, and this bar needs no more than the readings do. @param {Fit} fit @param {Trusted} trusted */
const readingsAreEnough = (fit, trusted) =>
  trusted.basis === 'lamp' && ['sample', 'all'].includes(fit.basis ?? '');

/** What stands between the verdict and a release, each as a sentence. @param {{degree: Pick<Degree, 'held_by'> | undefined}} props */
function WhyUnsure({ degree }) {
  if (!degree?.held_by.length) return null;
  return html`<ul class="held-by" aria-label=${say('held.title')}>
    ${degree.held_by.map(({ code, facts }) => html`<li key=${code} data-held=${code}>${say(code, facts)}</li>`)}
  </ul>`;
}

/** Where the tape is held: open as long as nothing was read. @param {{found: import('./judged_group.js').Found, open: boolean}} props */
function Hold({ found, open }) {
  return html`<details class="hold" open=${open}><summary class="turn">${say('hold.title')}</summary>
    <${WhereToHold} lamps=${facet(found.kind ?? undefined, 'lamps')} />
  </details>`;
}

/** What the trusted cavity rests on. @param {{told: Judgement}} props */
function Basis({ told }) {
  const { trusted } = told;
  const facts = { n: trusted.n, m: trusted.m ?? '?' };
  const shown = trusted.reasons.filter((each) => !told.degree?.held_by.includes(each));
  return html`<div class="small">
    ${trusted.trusted_ticks !== null && html`<p>${say('cavity.trusted', { trusted_ticks: trusted.trusted_ticks })}. ${say(`cavity.basis-${trusted.basis}`, facts)}</p>`}
    ${shown.map(({ code, facts: its }) => html`<p class="strong">${say(code, its)}</p>`)}
    ${trusted.spring_back && trusted.basis === 'lamp' && html`<p class="muted">${say(`cavity.spring-back-${trusted.spring_back}`, trusted.terms)}</p>`}
  </div>`;
}

/** All rows of bars that could lie in it, the best first. @param {{told: Judgement, bars: ViewRecord<'catalogue_item'>[]}} props */
export function OtherFits({ told, bars }) {
  const others = (told?.fits ?? []).filter((fit) => fit !== (bestOf(told) ?? told.fits[0]));
  if (!others.length) return null;
  return html`<details class="card others">
    <summary class="turn">${say('readings.others', { n: others.length })}</summary>
    <ul class="stack">
      ${others.map(
        (fit) => html`<li key=${fit.bars.join('+')} class="other" data-verdict=${fit.verdict}>
          <details>
            <summary>
              <${SmallFit} fit=${fit} label=${degreeText(fit)} />
              <span><span class="title">${barNames(fit.bars, bars)}</span><span class="detail">${verdictText(fit)}${fit.unsuited.length > 0 && say('measuring.but-not-for-here')}</span></span>
            </summary>
            <div class="stack">
              ${[...fit.unsuited.map(({ code, facts }) => say(code, facts)), ...reasonsText(fit)].map((/** @type {string} */ each) => html`<p>${each}</p>`)}
              <${Terms} fit=${fit} />
            </div>
          </details>
        </li>`,
      )}
    </ul>
  </details>`;
}
