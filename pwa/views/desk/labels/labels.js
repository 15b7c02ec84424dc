// Labels: codes for fixtures, labels and notices for the printer, a label that is void, and the walk as a table.

import { useState } from 'preact/hooks';
import { parseCode, spaced } from '../../../rules/codes.js';
import { facet, has } from '../../../rules/survey.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { navigate } from '../../navigate.js';
import { Problem } from '../../parts/parts.js';
import { labelPath } from '../../scanning/find_label.js';
import { counted, say } from '../../words.js';
import { Desk } from '../parts.js';
import { BlankCodes, MakeCodes } from './codes.js';
import { PrintLabels } from './print.js';

/** @param {{site: Site}} props */
export function Labels({ site }) {
  const [changed, setChanged] = useState(0);
  const labels = useLive(() => site.all('label'), [site.id]) ?? [];
  const bound = labels.filter((label) => has(label, 'binding') && !has(label, 'voided')).length;
  const decides = ['manager', 'owner'].includes(site.role);
  const onChanged = () => setChanged((before) => before + 1);
  return html`<${Desk} site=${site} at="/labels" title=${say('desk.labels-and-lists')}>
    <section class="card" aria-label=${say('label-desk.codes')}>
      <h2>${say('label-desk.codes')}</h2>
      <p>${say('desk.labels', { labels: counted(bound, 'fixture') })}</p>
      <p class="small muted">${say('label-desk.codes-about')}</p>
      ${decides && html`<${MakeCodes} site=${site} onMade=${onChanged} /><${BlankCodes} site=${site} onMade=${onChanged} />`}
    </section>
    <${PrintLabels} site=${site} changed=${changed} onPrinted=${onChanged} />
    <${OneLabel} site=${site} labels=${labels} />
    <section class="card" aria-label=${say('desk.lists')}>
      <h2>${say('desk.lists')}</h2>
      <p>${say('desk.walk')}</p>
      <a class="button main" href=${`/api/sites/${site.id}/walk.csv`} download>${say('desk.the-walk-as-a-table')}</a>
    </section>
  <//>`;
}

/** To a label by its code, and those that are void. @param {{site: Site, labels: RecordView<'label'>[]}} props */
function OneLabel({ site, labels }) {
  const [text, setText] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const { code, error: wrong } = parseCode(text);
    setError(wrong ?? null);
    if (code) navigate(labelPath(site.id, code));
  };
  const voided = labels.filter((label) => has(label, 'voided'));
  return html`<section class="card" aria-label=${say('label-desk.one')}>
    <h2>${say('label-desk.one')}</h2>
    <p class="small muted">${say('label-desk.one-about')}</p>
    <form class="field" onSubmit=${submit}>
      <label for="label-code">${say('label-desk.code')}</label>
      <div class="unit-beside">
        <input id="label-code" class="code-entry measure" value=${text} autocomplete="off" autocapitalize="characters" spellcheck="false"
          aria-invalid=${error ? 'true' : 'false'} aria-describedby="label-code-problem"
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setText(event.currentTarget.value)} />
        <button class="button">${say('label-desk.open')}</button>
      </div>
      <${Problem} error=${error} id="label-code-problem" />
    </form>
    ${
      voided.length > 0 &&
      html`<details><summary>${say('label-desk.voided', { labels: counted(voided.length, 'label') })}</summary>
      <ul class="rows">${voided.map((label) => html`<${Voided} key=${label.id} site=${site} label=${label} />`)}</ul></details>`
    }
  </section>`;
}

/** @param {{site: Site, label: RecordView<'label'>}} props */
function Voided({ site, label }) {
  const code = String(facet(label, 'identity').code);
  return html`<li><a class="row" href=${labelPath(site.id, code)}>
    <span><span class="title measure">${spaced(code)}</span><span class="detail">${facet(label, 'voided').reason}</span></span>
  </a></li>`;
}
