// What was done of a failure: from where the new item came, which it is, its batch or serial number.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { choiceText, say } from '../words.js';
import { dayOf } from '../today/days.js';

const HOW = /** @type {const} */ (['from-spares', 'under-warranty', 'bought', 'repaired', 'nothing-wrong']);
const PUTS_IN = new Set(['from-spares', 'under-warranty', 'bought']);

/** @param {{site: Site, failure: RecordView<'failure'>, told?: import('./fitted_now.js').Remembered, onDone: () => void}} props */
export function Replaced({ site, failure, told, onDone }) {
  const [how, setHow] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const { item = '' } = failure.facets.identity ?? {};
  const failed = told?.items?.find(({ code }) => code === item);
  /** @param {EventOf<HTMLFormElement>} event */
  const save = async (event) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const typed = (/** @type {string} */ name) => String(form.get(name) ?? '').trim();
    const value = {
      how,
      on: dayOf(new Date()),
      ...(PUTS_IN.has(how) && typed('item') && { item: typed('item'), number: 1 }),
      ...(PUTS_IN.has(how) && typed('serials') && { serials: typed('serials') }),
    };
    try {
      const about = { record: failure.id, type: 'failure', facet: 'replaced' };
      await site.save([{ ...about, value, seen: failure.seen.replaced ?? null }]);
      site.sync();
      onDone();
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<form class="stack" onSubmit=${save}>
    ${(told?.cautions ?? ['memory.caution.isolate', 'memory.caution.at-height']).map((code) => html`<p class="notice">${say(code)}</p>`)}
    <fieldset><legend>${say('memory.how')}</legend><div class="chips">
      ${HOW.map((each) => html`<label class="chip" key=${each}><input type="radio" name="how" checked=${how === each} onChange=${() => setHow(each)} /><span>${choiceText(each)}</span></label>`)}
    </div></fieldset>
    ${
      PUTS_IN.has(how) &&
      html`<label class="field"><span>${say('memory.by-what')}</span><input name="item" autocomplete="off" maxlength="80" required defaultValue=${failed?.replaced_by || item} /></label>
    <label class="field"><span>${say('memory.recall.serial')}</span><input name="serials" autocomplete="off" maxlength="200" /></label>`
    }
    <button type="submit" class="button main" disabled=${!how}>${say('memory.save-replaced')}</button>
    <${Problem} error=${error} />
  </form>`;
}
