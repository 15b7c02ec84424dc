// Done: the checks of what can kill or burn come first and hold it back; then what was fitted, and who it took how long.

import { useState } from 'preact/hooks';
import { PROOF_HOLDS_MINUTES } from '../../rules/constants.js';
import { releasedAt } from '../../rules/installing/as_fitted.js';
import { keep, kept } from '../../store/kept.js';
import { ownName } from '../drafts.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { editOf, fittedProblem, fittedText, fittedValue } from './fitted.js';
import { AsFitted } from './fitted_form.js';
import { Helped, helpedValue } from './helped.js';
import { partnerName, partnerState } from './partner.js';
import { checksOf } from './work_card.js';

/** @typedef {import('./visits.js').CheckingOff} CheckingOff */
/** @typedef {import('./outcome.js').FromForm} FromForm */

const HOURS = PROOF_HOLDS_MINUTES / 60;

/** The checks of a fixture and of the one that is done with it. @param {ReleasedGroup} read @param {number} position @param {boolean} pair @returns {string[]} */
const checksOfBoth = (read, position, pair) => [
  ...new Set([
    ...checksOf(read.conversion, position),
    ...(pair ? checksOf(/** @type {PartnerReady} */ (read.partner).conversion, position) : []),
  ]),
];

/** @param {{site: Site, read: ReleasedGroup, position: number, checkingOff: CheckingOff, busy: boolean, locked: boolean, onDone: (told: FromForm) => void}} props */
export function Done({ site, read, position, checkingOff, busy, locked, onDone }) {
  const pair = partnerState(read, position) === 'ready';
  const checks = checksOfBoth(read, position, pair);
  const draft = ownName(`fitted.${read.group.id}.${position}.${read.conversion.id}`);
  const released = releasedAt(read.conversion, position, read.positions.length);
  const [edit, setEdit] = useState(() => kept(draft) ?? null);
  const [helped, setHelped] = useState({});
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const missing = checks.filter((check) => !checkingOff.mine('checks', check));
  /** @param {import('./fitted.js').Edit | null} next */
  const change = (next) => {
    setEdit(next);
    keep(draft, next ?? undefined);
  };
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = fittedProblem(edit, released);
    setError(wrong);
    if (locked || missing.length > 0 || wrong) return;
    keep(draft, undefined);
    const fitted = edit ? fittedText(edit.items) : read.conversion.facets.identity.summary;
    const helpers = helpedValue(site, helped, checkingOff.begunAt);
    onDone({
      outcome: 'done',
      checks,
      ...(fitted && { fitted }),
      ...helpers,
      asFitted: fittedValue(edit, released),
    });
  };
  return html`<form class="card" onSubmit=${submit}>
    <${Checks} checks=${checks} checkingOff=${checkingOff} both=${pair ? partnerName(read, position) : ''} />
    <${AsFitted} site=${site} released=${released} edit=${edit} onEdit=${change} onStart=${() => change(editOf(released))} />
    <${Problem} error=${error} />
    <${Helped} site=${site} value=${helped} begunAt=${checkingOff.begunAt} onChange=${setHelped} />
    ${locked && html`<p class="problem">${say('standing.locked')}</p>`}
    <p class="muted" role="status">${missing.length > 0 ? say('crew.ticks-missing', { left: missing.length }) : ''}</p>
    <button class="button main" disabled=${busy || locked || missing.length > 0}>${pair ? say('crew.both-done') : say('crew.done')}</button>
  </form>`;
}

/** What must have been seen with one's own eyes; another's check is told, and is not one's own. @param {{checks: string[], checkingOff: CheckingOff, both: string}} props */
function Checks({ checks, checkingOff, both }) {
  const lapsed = checkingOff.lapsed.filter(
    (check) => checks.includes(check) && !checkingOff.mine('checks', check),
  );
  return html`<div class="caution" role="group" aria-labelledby="checks">
    <p class="label" id="checks">${say('crew.before-done-with-your-own')}</p>
    ${both && html`<p>${say('crew.ticks-both', { name: both })}</p>`}
    ${lapsed.length > 0 && html`<p class="strong">${say('card.lapsed', { lapsed: lapsed.length, hours: HOURS })}</p>`}
    ${checks.map((check) => html`<${Check} key=${check} check=${check} checkingOff=${checkingOff} />`)}
  </div>`;
}

/** @param {{check: string, checkingOff: CheckingOff}} props */
function Check({ check, checkingOff }) {
  const others = checkingOff.others('checks', check).join(', ');
  return html`<label class="check-line">
    <input type="checkbox" checked=${checkingOff.mine('checks', check)} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => checkingOff.checkOff('checks', check, event.currentTarget.checked)} />
    <span>${say(`crew.check.${check.replaceAll(' ', '-')}`)}${others && html`<span class="muted small"> ${say('card.check-ticked-by', { others })}</span>`}</span>
  </label>
  <${Problem} error=${checkingOff.failed('checks', check)} />`;
}
