// The trial bars of a group: which bar, where, whether it went in, and what can be done with each.

import { useState } from 'preact/hooks';
import { facet, has } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { inOrder, placeText } from './group_readings.js';
import { html } from '../html.js';
import { barNames } from './judged_group.js';
import { Mark, Problem } from '../parts/parts.js';
import { PhotoButton, Photos } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { VoidForm } from '../parts/void_form.js';
import { mayWrite } from '../record_screens.js';
import { choiceText, keptLengthText, say } from '../words.js';

const WENT_IN = 'went-in-by-hand';

/** Ids of the bars of a trial, in order. @param {ViewRecord<'trial_bar'>} trial @returns {string[]} */
const barsOf = (trial) => {
  const { bar, number = 1, then_bar: then, then_number: thenNumber = 1 } = facet(trial, 'identity');
  return [...Array(number).fill(bar), ...(then ? Array(thenNumber).fill(then) : [])];
};

/** @param {{site: Site, trials: RecordView<'trial_bar'>[], bars: ViewRecord<'catalogue_item'>[]}} props */
export function Trials({ site, trials, bars }) {
  if (!trials.length) return null;
  return html`<section class="stack" aria-label=${say('measuring.trial-bars')}>
    <h2>${say('measuring.trial-bars')}</h2>
    <ul class="readings">
      ${[...trials].sort(inOrder).map((each) => html`<${Trial} key=${each.id} site=${site} trial=${each} bars=${bars} />`)}
    </ul>
  </section>`;
}

/** @param {{site: Site, trial: RecordView<'trial_bar'>, bars: ViewRecord<'catalogue_item'>[]}} props */
function Trial({ site, trial, bars }) {
  const { went_in: went, gap_ticks: gap } = facet(trial, 'identity');
  const out = has(trial, 'voided');
  const by = trial.by.identity && store.whoSaid(trial);
  const detail = [
    placeText(trial),
    choiceText(went),
    went === WENT_IN &&
      (gap === undefined
        ? say('measuring.gap-not-seen')
        : say('measuring.gap', { gap: keptLengthText(gap) })),
    by,
  ];
  const state = out ? say('measuring.state.voided') : went === WENT_IN ? '' : say('measuring.state.refused');
  return html`<li data-trial=${trial.id}>
    <details>
      <summary>
        <span><span class="title ${out ? 'out' : ''}">${barNames(barsOf(trial), bars)}</span><span class="detail">${detail.filter(Boolean).join(' · ')}</span></span>
        <span class="marks">
          ${state && html`<${Mark} look=${out ? '' : 'attention'}>${state}<//>`}
          ${Object.keys(trial.mine).length > 0 && html`<${Mark} look="unsent">${say('page.not-sent')}<//>`}
        </span>
      </summary>
      <${Actions} site=${site} trial=${trial} />
    </details>
  </li>`;
}

/** @param {{site: Site, trial: RecordView<'trial_bar'>}} props */
function Actions({ site, trial }) {
  const [told, setTold] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {Value} value @param {string} said */
  const write = async (value, said) => {
    setError(null);
    try {
      await site.save([
        { record: trial.id, type: trial.type, facet: 'voided', value, seen: trial.seen.voided ?? null },
      ]);
      setTold(said);
    } catch (failed) {
      setError(failed);
    }
  };
  const out = has(trial, 'voided');
  if (!mayWrite(site, 'trial_bar', 'voided'))
    return html`<div class="stack actions">
      ${out && html`<p>${say('measuring.voided', { reason: facet(trial, 'voided').reason })}</p>`}
      <${Photos} site=${site} subject=${trial.id} />
    </div>`;
  return html`<div class="stack actions">
    ${told && html`<${Saved} key=${told} site=${site} onUndone=${() => setTold('')}>${told}<//>`}
    <${Problem} error=${error} />
    ${out && html`<p>${say('measuring.voided', { reason: facet(trial, 'voided').reason })}</p><button class="button plain" onClick=${() => write({}, say('measuring.it-counts-as-before'))}>${say('measuring.let-it-count-again')}</button>`}
    ${
      !out &&
      html`<${VoidForm} id=${trial.id} onVoid=${(/** @type {string} */ reason) => write({ reason }, say('measuring.voided-it-no-longer-counts'))} />`
    }
    <${Photos} site=${site} subject=${trial.id} />
    <${PhotoButton} site=${site} subject=${trial.id} purpose="sockets" label=${say('measuring.photo-of-the-bar')} />
  </div>`;
}
