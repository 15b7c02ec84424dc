// What fits into a group, shown: the best row of bars large, the rest one tap away, each with its reasons and terms.

import { isByLamp } from '../../rules/by_lamp.js';
import { html } from '../html.js';
import { barNames, bestOf, witnessWanted } from './judged_group.js';
import { endOf, FitDrawing, SmallFit } from '../parts/fit_drawing.js';
import { Facts } from '../parts/parts.js';
import { Risk } from './risk.js';
import { lengthText, say } from '../words.js';

/** Terms in the order of the sum, with the sign they have in it. @type {Array<[string, string, 1 | -1]>} */
const TERMS = [
  ['trusted_ticks', 'fit.term-trusted', 1],
  ['bars_ticks', 'fit.term-bars', -1],
  ['tolerance_ticks', 'fit.term-tolerance', -1],
  ['joints_ticks', 'fit.term-joints', -1],
  ['change_ticks', 'fit.term-change', -1],
  ['end_gaps_ticks', 'fit.term-end-gaps', -1],
];

/** What holds back a verdict until somebody answers it. */
const HOLDS = ['cavity.two-clusters', 'cavity.two-makes-seen', 'cavity.reading-asked'];

/** The verdict in a few words. @param {Fit | null | undefined} fit @returns {string} */
export function verdictText(fit) {
  if (!fit) return say('readings.nothing-judged');
  const { verdict, clearance_ticks: clearance, terms } = fit;
  if (fit.refused) return say('readings.trial-refused');
  if (verdict === 'fits' && Number(clearance) < 0) return say('readings.fits-by-trial');
  if (verdict === 'fits')
    return say(isByLamp(fit) ? 'readings.fits-by-lamp' : 'readings.fits', { spare_ticks: clearance });
  if (verdict === 'too long') return say('readings.too-long', { over_ticks: -terms.nominal_clearance_ticks });
  if (verdict === 'tight') return say('readings.tight', { short_ticks: -Number(clearance) });
  return say('readings.cannot-tell');
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
  const fit = bestOf(told);
  const shown = fit ?? told?.fits[0] ?? null;
  const text = verdictText(shown);
  return html`<figure class="best-fit" data-verdict=${shown?.verdict ?? 'cannot tell'}>
    <figcaption>
      <p class="verdict ${shown ? shown.verdict.replace(' ', '-') : ''}">${text}</p>
      ${shown && html`<p class="muted small">${barNames(shown.bars, found.bars)}</p>`}
      ${told && !shown && html`<p>${say('readings.no-bars')}</p>`}
    </figcaption>
    <${FitDrawing} fit=${shown} label=${text} />
    ${shown && endOf(shown) && html`<p class="muted small">${say('readings.drawing')}</p>`}
    ${shown?.unsuited.map(({ code, facts }) => html`<p class="small strong">${say(code, facts)}</p>`)}
    ${told && html`<${Witness} wanted=${witnessWanted(found, told)} />`}
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

/** Whether the lamps prove the greater cavity, and this bar needs no more than the readings do. @param {Fit} fit @param {Trusted} trusted */
const readingsAreEnough = (fit, trusted) =>
  trusted.basis === 'lamp' && ['sample', 'all'].includes(fit.basis ?? '');

/** What a fit by the lamp alone wants before it may be released. @param {{wanted: Record<string, number> | null}} props */
function Witness({ wanted }) {
  return wanted && html`<p class="small strong" data-witness>${say('fit-lines.needs-witness', wanted)}</p>`;
}

/** What the trusted cavity rests on. @param {{told: Judgement}} props */
function Basis({ told }) {
  const { trusted } = told;
  const facts = { n: trusted.n, m: trusted.m ?? '?' };
  return html`<div class="small">
    ${trusted.trusted_ticks !== null && html`<p>${say('cavity.trusted', { trusted_ticks: trusted.trusted_ticks })}. ${say(`cavity.basis-${trusted.basis}`, facts)}</p>`}
    ${trusted.reasons.map(({ code, facts: its }) => html`<p class=${HOLDS.includes(code) ? 'strong' : ''}>${say(code, its)}</p>`)}
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
              <${SmallFit} fit=${fit} label=${say(`fit.verdict-${fit.verdict.replace(' ', '-')}`)} />
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
