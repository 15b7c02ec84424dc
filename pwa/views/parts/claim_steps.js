// How a claim stands: its steps with day, by whom and letter; the next step is noted here, without a signal too.

import { useState } from 'preact/hooks';
import { facet } from '../../rules/survey.js';
import { draftOf } from '../drafts.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { mayAttachLetters, mayWrite } from '../record_screens.js';
import { choiceText, say } from '../words.js';
import { attachFile } from './attach_file.js';
import { dayProblem, inOrder } from './claim_order.js';
import { Problem } from './parts.js';
import { dayOf } from '../today/days.js';

export const STATES = /** @type {const} */ ([
  'claim-sent',
  'claim-accepted',
  'claim-refused',
  'claim-replaced',
  'claim-closed',
]);
/** @typedef {{state: string, on: string, by: string, reference: string, note: string, attachment: string}} Step */

const today = () => dayOf(new Date());

/** @param {{site: Site, failure: string}} props `failure`: its id */
export function ClaimSteps({ site, failure }) {
  const steps = useLive(async () => inOrder(await site.children(failure, 'claim_step')), [site.id, failure]);
  if (!steps) return null;
  return html`<section class="stack" aria-label=${say('memory.claims.steps')}>
    ${steps.length > 0 && html`<ul class="rows">${steps.map((each) => html`<${StepRow} key=${each.id} site=${site} step=${each} />`)}</ul>`}
    ${mayWrite(site, 'claim_step') && html`<${NoteStep} site=${site} failure=${failure} />`}
  </section>`;
}

/** @param {{site: Site, step: RecordView<'claim_step'>}} props */
function StepRow({ site, step }) {
  const said = facet(step, 'identity');
  const letter = useLive(async () => (said.attachment ? site.get(said.attachment) : null), [said.attachment]);
  const file = letter && facet(/** @type {RecordView<'attachment'>} */ (letter), 'identity');
  const about = [said.by, said.reference, said.note].filter(Boolean).join(', ');
  return html`<li class="row"><span>
    <span class="title">${say('memory.claims.step-told', { on: said.on ?? '', state: choiceText(said.state ?? '') })}</span>
    ${about && html`<span class="detail">${about}</span>`}
    ${file && html`<a class="tall" href=${`/api/sites/${site.id}/attachments/${file.sha256}`} download=${file.name}>${file.name}</a>`}
  </span></li>`;
}

/** @param {{site: Site, failure: string}} props */
function NoteStep({ site, failure }) {
  const draft = draftOf(site.id, `claim.${failure}`);
  const fresh = { on: today() };
  const [told, setTold] = useState(/** @type {Partial<Step>} */ (draft.at ?? fresh));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const change = (/** @type {Partial<Step>} */ some) => {
    const next = { ...told, ...some };
    setTold(next);
    draft.keep(next);
  };
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = dayProblem(told.on ?? '', today());
    if (wrong) return setError(wrong);
    setError(null);
    try {
      const said = Object.entries(told).map(([name, value]) => [name, String(value ?? '').trim()]);
      const value = {
        parent: failure,
        ...Object.fromEntries(said.filter(([, text]) => text)),
        noted_at: new Date().toISOString(),
      };
      await site.save([{ record: site.newId(), type: 'claim_step', facet: 'identity', value, seen: null }]);
      draft.forget();
      setTold(fresh);
      site.sync();
    } catch (problem) {
      setError(problem);
    }
  };
  const typed = (/** @type {keyof Step} */ name) => (/** @type {EventOf<HTMLInputElement>} */ event) =>
    change({ [name]: event.currentTarget.value });
  return html`<details open=${Boolean(draft.at)}>
    <summary class="turn">${say('memory.claims.note-step')}</summary>
    <form class="stack" onSubmit=${save} aria-label=${say('memory.claims.note-step')} novalidate>
      <fieldset><legend>${say('memory.claims.which')}</legend><div class="chips">
        ${STATES.map((each) => html`<label class="chip" key=${each}><input type="radio" name=${`state-${failure}`} checked=${told.state === each} onChange=${() => change({ state: each })} /><span>${choiceText(each)}</span></label>`)}
      </div></fieldset>
      <label class="field"><span>${say('memory.claims.on')}</span><input type="date" max=${today()} value=${told.on ?? ''} onInput=${typed('on')} /></label>
      <label class="field"><span>${say('memory.claims.by')}</span><input maxlength="80" autocomplete="off" value=${told.by ?? ''} onInput=${typed('by')} /></label>
      <p class="muted small">${say('memory.claims.by-help')}</p>
      <label class="field"><span>${say('memory.claims.reference')}</span><input maxlength="80" autocomplete="off" value=${told.reference ?? ''} onInput=${typed('reference')} /></label>
      <label class="field"><span>${say('memory.claims.note')}</span><textarea maxlength="2000" rows="2" value=${told.note ?? ''} onInput=${typed('note')}></textarea></label>
      ${mayAttachLetters(site) && html`<${Letter} site=${site} value=${told.attachment ?? ''} onChange=${(/** @type {string} */ attachment) => change({ attachment })} />`}
      <button type="submit" class="button main" disabled=${!told.state}>${say('memory.claims.save')}</button>
      <${Problem} error=${error} />
    </form>
  </details>`;
}

/** A letter about the claim: one that is there, or a file that is sent now. @param {{site: Site, value: string, onChange: (id: string) => void}} props */
function Letter({ site, value, onChange }) {
  const kept = useLive(() => site.all('attachment'), [site.id]);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const fit = (kept ?? []).filter((each) => facet(each, 'identity').purpose === 'claim-letter');
  const send = async (/** @type {EventOf<HTMLInputElement>} */ event) => {
    const input = event.currentTarget;
    const [file] = input.files ?? [];
    if (!file) return;
    setError(null);
    try {
      onChange(await attachFile(site, file, 'claim-letter', {}));
    } catch (problem) {
      setError(problem);
    }
    input.value = '';
  };
  return html`<label class="field"><span>${say('memory.claims.letter')}</span>
      <select value=${value} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChange(event.currentTarget.value)}>
        <option value="">${say('memory.claims.no-letter')}</option>
        ${fit.map((each) => html`<option key=${each.id} value=${each.id}>${facet(each, 'identity').name}</option>`)}
      </select></label>
    <label class="button camera"><input type="file" accept=".pdf,.jpg,.jpeg,.png" onChange=${send} /><span>${say('memory.claims.attach')}</span></label>
    <${Problem} error=${error} />`;
}
