// How long it took, and who helped.

import { store } from '../../store/store.js';
import { html } from '../html.js';
import { numberFor } from '../inputs/typed_number.js';
import { keep, kept } from '../../store/kept.js';
import { dayOf } from '../today/days.js';
import { say } from '../words.js';

/** @typedef {{minutes?: string, helper?: string}} HelpedTyped what was typed; undefined: what stands there by itself */

const A_MINUTE_MS = 60_000;

/** Minutes since the first check of this visit; 0 where nothing was checked off. @param {string} begunAt */
const minutesSince = (begunAt) =>
  begunAt ? Math.max(1, Math.round((Date.now() - Date.parse(begunAt)) / A_MINUTE_MS)) : 0;

/** Who helped stays for the day: one crew, many fixtures. @param {Site} site */
const helperOfDay = (site) => {
  const { day, helper } = kept(`helper.${site.id}`) ?? {};
  return day === dayOf(new Date()) ? String(helper) : '';
};

/** Others of the site. @param {Site} site @returns {Array<{id: string, name: string}>} */
const others = (site) => (site.entry.people ?? []).filter(({ id }) => id !== store.person?.id);

/** @param {Site} site @param {string} text */
const minutesOf = (site, text) =>
  numberFor(site.spec.records.installation.facets.identity.fields.minutes, text);

/** What is saved of it. @param {Site} site @param {HelpedTyped} typed @param {string} begunAt @returns {Pick<ValueOf<'installation', 'identity'>, 'minutes' | 'helper' | 'helper_person'>} */
export function helpedValue(site, typed, begunAt) {
  const { number: minutes } = minutesOf(site, typed.minutes ?? String(minutesSince(begunAt)));
  const helper = (typed.helper ?? helperOfDay(site)).trim();
  const person = others(site).find(({ name }) => name === helper);
  return {
    ...(minutes && { minutes }),
    ...(helper && { helper }),
    ...(person && { helper_person: person.id }),
  };
}

/** @param {{site: Site, value: HelpedTyped, begunAt: string, onChange: (value: HelpedTyped) => void}} props */
export function Helped({ site, value, begunAt, onChange }) {
  const helper = value.helper ?? helperOfDay(site);
  const minutes = value.minutes ?? (begunAt ? String(minutesSince(begunAt)) : '');
  const { problem } = minutesOf(site, value.minutes ?? '');
  /** @param {string} name */
  const help = (name) => {
    onChange({ ...value, helper: name });
    keep(`helper.${site.id}`, { day: dayOf(new Date()), helper: name });
  };
  return html`<details>
    <summary class="turn">${say(helper ? 'card.minutes-with' : 'card.minutes', { minutes: minutes || '–', helper })}</summary>
    <div class="field">
      <label for="minutes">${say('card.minutes-title')}</label>
      <input id="minutes" inputmode="numeric" autocomplete="off" value=${minutes} aria-invalid=${problem ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ ...value, minutes: event.currentTarget.value })} />
      ${problem && html`<p class="problem" role="alert">${say(problem.code, problem.facts)}</p>`}
    </div>
    <div class="field">
      <label for="helper">${say('card.helper-title')}</label>
      <input id="helper" list="helpers" maxlength="80" autocomplete="off" value=${helper} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => help(event.currentTarget.value)} />
      <datalist id="helpers">${others(site).map(({ id, name }) => html`<option key=${id} value=${name} />`)}</datalist>
    </div>
  </details>`;
}
