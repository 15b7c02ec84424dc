// What was done on a fixture so far, newest first.

import { store } from '../../store/store.js';
import { html } from '../html.js';
import { Mark } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { choiceText, say, timeText } from '../words.js';
import { doneAt } from './fixture_facts.js';

/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOKS = { done: 'done', problem: 'attention', skipped: '' };

/** @param {{site: Site, history: RecordView<'installation'>[]}} props */
export function History({ site, history }) {
  if (history.length === 0) return null;
  return html`<section class="stack" aria-label=${say('crew.done-so-far')}>
    ${history.map((each) => html`<${Entry} key=${each.id} site=${site} installation=${each} />`)}
  </section>`;
}

/** @param {{site: Site, installation: RecordView<'installation'>}} props */
function Entry({ site, installation }) {
  const { outcome, fitted, problem } = installation.facets.identity ?? {};
  return html`<div class="notice stack">
    <p class="side-by-side">
      <${Mark} look=${LOOKS[outcome ?? ''] ?? ''}>${choiceText(outcome)}<//>
      <span class="small muted">${store.personName(installation.by.identity)}, ${timeText(doneAt(installation))}</span>
    </p>
    ${outcome === 'done' && fitted && html`<p>${fitted}</p>`}
    ${problem && html`<p>${problem}</p>`}
    <${Photos} site=${site} subject=${installation.id} />
  </div>`;
}
