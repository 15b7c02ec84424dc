// A file of unsent work from a phone that could not send it: brought in through the same push.

import { useState } from 'preact/hooks';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { headOf, saidBy } from '../../syncing/operation_text.js';
import { say, timeText } from '../../words.js';

/** What became of operations, in the order in which it is told. @type {string[]} */
const RESULTS = ['applied', 'same', 'conflict', 'held', 'refused', 'fork'];

/** @param {{site: Site}} props */
export function BringIn({ site }) {
  const [done, setDone] = useState(/** @type {Awaited<ReturnType<Site['bringIn']>> | null} */ (null));
  const [step, setStep] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const take = async (/** @type {EventOf<HTMLInputElement>} */ event) => {
    const input = event.currentTarget;
    const [file] = input.files ?? [];
    if (!file) return;
    setDone(null);
    setError(null);
    try {
      setDone(
        await site.bringIn(await file.text(), (at, of) =>
          setStep(say('desk.step-of-steps', { step: at, steps: of })),
        ),
      );
    } catch (problem) {
      setError(problem);
    }
    setStep('');
    input.value = '';
  };
  return html`<section class="card" aria-label=${say('desk.bring-in-a-file')}>
    <p>${say('desk.bring-in')}</p>
    <div class="field"><label for="carried">${say('desk.file-of-unsent-work')}</label><input id="carried" type="file" accept="application/json,.json" onChange=${take} /></div>
    ${step && html`<p role="status">${say('desk.sending', { step })}</p>`}
    <${Problem} error=${error} />
    ${done && html`<${Done} site=${site} ...${done} />`}
  </section>`;
}

/** @param {{site: Site, carried: import('../../../sync/carried.js').Carried, outcome: import('../../../sync/carried.js').Outcome}} props */
function Done({ site, carried, outcome }) {
  const { results, refused, photos, photosRefused } = outcome;
  const told = RESULTS.filter((result) => results[result]).map((result) =>
    say(`carried.${result}`, { n: results[result] }),
  );
  return html`<div class="stack" role="status">
    <p class="strong">${say('carried.whose', { name: store.personName(carried.person), at: timeText(carried.made_at) })}</p>
    <ul>${told.map((each) => html`<li>${each}</li>`)}${carried.photos.length > 0 && html`<li>${say('carried.photos', { n: photos, of: carried.photos.length })}</li>`}</ul>
    ${
      refused.length > 0 &&
      html`<h3>${say('page.the-server-did-not-take')}</h3>
      <ul class="rows">${refused.map(
        ({ operation, code, facts }) => html`<li class="row-text" key=${operation.id}>
        <span class="strong">${headOf(site, operation, null)}</span>
        <span class="detail">${saidBy(site, operation)}</span>
        <span class="problem">${facts?.detail ?? say(code, facts)}</span>
      </li>`,
      )}</ul>`
    }
    ${photosRefused.map(({ sha256, code, facts }) => html`<p class="problem" key=${sha256}>${facts.detail ?? say(code, facts)}</p>`)}
  </div>`;
}
