// What is fitted in a fixture, years later: asked of the server; a failure is reported here with and without a signal.

import { useEffect, useState } from 'preact/hooks';
import { spaced } from '../../rules/codes.js';
import { facet } from '../../rules/survey.js';
import { askServer } from '../../store/desk.js';
import { useLive, useStatus } from '../hooks.js';
import { html } from '../html.js';
import { numberFor } from '../inputs/typed_number.js';
import { navigate } from '../navigate.js';
import { once } from '../once.js';
import { ClaimSteps } from '../parts/claim_steps.js';
import { Page } from '../parts/page.js';
import { Facts, Problem } from '../parts/parts.js';
import { PhotoButton } from '../parts/photos.js';
import { mayWrite } from '../record_screens.js';
import { dayOf } from '../today/days.js';
import { choiceText, counted, say } from '../words.js';
import { placeOf } from '../scanning/find_label.js';
import { Replaced } from './replaced_form.js';

/** @typedef {{kind: string, code: string, name: string, number: number, setting_ma: number | null, serials: string[], fitted_on: string, warranty_years: number | null, warranty_ends: string | null, warranty_days_left: number | null, spares: number | null, replaced_by: string, recalled: string, taken_out: Array<{failure: string, on: string}>}} ItemNow */
/** @typedef {{driver: string, output: number, joined: string, bars: string[]}} WireTold */
/** @typedef {{group: string, position: number, code: string, floor_name: string, room_name: string, mark: string, access: string, state: string, fitted_on: string, firm: string, call: string, release: number | null, items: ItemNow[] | null, takes_no_lamps: boolean, wiring: WireTold[], wired_as_released: boolean, emergency: boolean, cautions: string[], removed: boolean}} Remembered */

/** @param {Site} site @param {string} group @param {string | number} position @param {string} [below] */
export const nowPath = (site, group, position, below = 'now') =>
  `/s/${site.id}/fixture/${group}/${position}/${below}${location.search}`;

/** What the server remembers of a fixture; `error` where it cannot be asked. @param {Site} site @param {string} group @param {number} position @param {unknown} again */
export function useRemembered(site, group, position, again) {
  const [state, setState] = useState(/** @type {{told?: Remembered, error: unknown}} */ ({ error: null }));
  useEffect(() => {
    const gone = new AbortController();
    askServer(`/api/sites/${site.id}/memory/${group}/${position}`, { signal: gone.signal }).then(
      (told) => setState({ told: /** @type {Remembered} */ (told), error: null }),
      (error) => gone.signal.aborted || setState((before) => ({ ...before, error })),
    );
    return () => gone.abort();
  }, [site.id, group, position, again]);
  return state;
}

/** @param {{site: Site, params: {group: string, position: string}}} props */
export function FittedNow({ site, params }) {
  const position = Number(params.position);
  const failures = useLive(() => failuresOf(site, params.group, position), [site.id, params.group, position]);
  // What was sent meanwhile is told then, and without a signal it is asked for again once there is one.
  const { state, unsent } = useStatus();
  const again = `${failures?.length} ${unsent} ${state === 'offline'}`;
  const { told, error } = useRemembered(site, params.group, position, again);
  const place = useLive(() => placeOf(site, params.group, position), [site.id, params.group, position]);
  return html`<${Page} title=${place?.place ?? say('memory.title')} over=${site.name} back=${`/s/${site.id}/scan`} site=${site.id}
    act=${mayWrite(site, 'failure') && html`<a class="button main wide" href=${nowPath(site, params.group, params.position, 'failure')}>${say('memory.report')}</a>`}>
    ${told ? html`<${Told} told=${told} />` : error ? html`<p class="notice">${say('memory.no-signal')}</p>` : html`<p role="status">${say('memory.asking')}</p>`}
    ${told?.emergency && mayWrite(site, 'function_test') && html`<${FunctionTest} site=${site} group=${params.group} position=${position} />`}
    <${Failures} site=${site} group=${params.group} position=${position} failures=${failures ?? []} told=${told} />
  <//>`;
}

/** Notes a function test of an emergency light, today. @param {{site: Site, group: string, position: number}} props */
function FunctionTest({ site, group, position }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const done = useLive(() => lastTest(site, group, position), [site.id, group, position]);
  const note = async (/** @type {'passed' | 'failed'} */ result) => {
    const now = new Date();
    const value = { parent: group, position, result, on: dayOf(now), noted_at: now.toISOString() };
    try {
      await site.save([
        { record: site.newId(), type: 'function_test', facet: 'identity', value, seen: null },
      ]);
      site.sync();
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<section class="card stack" aria-label=${say('memory.upkeep.function')}>
    <h2>${say('memory.upkeep.function')}</h2>
    <p class="notice">${say('memory.caution.emergency')}</p>
    <p>${say('memory.upkeep.how')}</p>
    <p role="status">${done && say('memory.upkeep.noted', { result: choiceText(done.result ?? ''), on: done.on ?? '' })}</p>
    <div class="side-by-side">
      <button type="button" class="button main" onClick=${once(() => note('passed'))}>${say('memory.upkeep.test-passed')}</button>
      <button type="button" class="button" onClick=${once(() => note('failed'))}>${say('memory.upkeep.test-failed')}</button>
    </div>
    <${Problem} error=${error} />
  </section>`;
}

/** The newest function test of a fixture that is on this phone. @param {Site} site @param {string} group @param {number} position */
async function lastTest(site, group, position) {
  const every = (await site.children(group, 'function_test')).map((each) => facet(each, 'identity'));
  const here = every.filter((each) => each.position === position);
  return here.sort((a, b) => (b.noted_at ?? '').localeCompare(a.noted_at ?? ''))[0] ?? null;
}

/** @param {{told: Remembered}} props */
function Told({ told }) {
  if (told.state !== 'done')
    return html`${told.removed && html`<p class="notice">${say('crew.fixture-removed')}</p>`}<p class="notice">${say('memory.not-converted')}</p>`;
  const facts = [
    [say('memory.fitted-on'), told.fitted_on],
    [say('memory.by'), told.firm],
    [say('memory.call'), told.call],
    [say('memory.release'), told.release],
    [say('memory.label'), told.code && spaced(told.code)],
    [say('memory.access'), choiceText(told.access)],
  ];
  return html`<section class="card" aria-label=${say('memory.title')}>
      ${told.removed && html`<p class="notice">${say('crew.fixture-removed')}</p>`}
      ${told.takes_no_lamps && html`<p class="notice strong">${say('memory.no-lamps')}</p>`}
      <${Facts} facts=${facts.filter(([, value]) => value)} />
    </section>
    <section class="card" aria-label=${say('memory.items')}>
      <h2>${say('memory.items')}</h2>
      ${told.items ? told.items.map((item) => html`<${Item} key=${keyOf(item)} item=${item} />`) : html`<p>${say('memory.not-item-by-item')}</p>`}
    </section>
    ${told.wiring.length > 0 && html`<${Wiring} told=${told} />`}`;
}

/** Of two of one code in a fixture, one was put in later. @param {ItemNow} item */
const keyOf = ({ code, serials, fitted_on: on }) => [code, on, ...serials].join(' ');

/** How many pieces of an item were not taken out again. @param {ItemNow} item */
const leftOf = ({ number, taken_out: out }) => number - out.length;

/** @param {{item: ItemNow}} props */
function Item({ item }) {
  const { code, number, name, setting_ma: ma, serials } = item;
  const about = [
    name,
    ma && say('memory.setting', { ma }),
    serials.length > 0 && say('memory.serials', { serials: serials.join(', ') }),
    item.fitted_on && `${say('memory.fitted-on')} ${item.fitted_on}`,
  ].filter(Boolean);
  return html`<div class="stack">
    <p class="strong">${say('memory.number-of', { number, code })}</p>
    <p class="small">${about.join(', ')}</p>
    ${item.taken_out.length > 0 && html`<p class="notice">${say('memory.taken-out', { out: item.taken_out.length, number, on: item.taken_out.map(({ on }) => on).join(', ') })}</p>`}
    ${leftOf(item) > 0 && html`<p>${warranty(item)}</p>`}
    ${leftOf(item) > 0 && item.spares !== null && html`<p class="small">${say('memory.spares', { count: item.spares })}</p>`}
    ${item.replaced_by && html`<p class="notice">${say('memory.replaced-by', { item: item.replaced_by })}</p>`}
    ${item.recalled && html`<p class="notice bad">${say('memory.recalled', { reason: item.recalled })}</p>`}
  </div>`;
}

/** @param {ItemNow} item */
function warranty({ warranty_ends: ends, warranty_days_left: left, warranty_years: years }) {
  if (ends === null) return say('memory.warranty.none');
  if (!left) return say('memory.warranty.ended', { years, ends });
  return say('memory.warranty.left', { ends, days: counted(left, 'day') });
}

/** @param {{told: Remembered}} props */
function Wiring({ told }) {
  return html`<section class="card" aria-label=${say('memory.wiring')}>
    <h2>${say('memory.wiring')}</h2>
    ${told.cautions.map((code) => html`<p class="notice">${say(code)}</p>`)}
    ${
      told.wired_as_released
        ? html`<p class="small muted">${say('memory.wiring-about')}</p><${Outputs} wiring=${told.wiring} />`
        : html`<p class="notice bad" role="note">${say('memory.wiring-otherwise')}</p>
      <details class="points"><summary>${say('memory.wiring-released')}</summary><${Outputs} wiring=${told.wiring} /></details>`
    }
    <button type="button" class="button" onClick=${() => window.print()}>${say('memory.print')}</button>
  </section>`;
}

/** @param {{wiring: WireTold[]}} props */
function Outputs({ wiring }) {
  return html`<ul class="rows">${wiring.map(
    ({ driver, output, bars }) =>
      html`<li class="row"><span><span class="title">${driver}, ${say('memory.output')} ${output}</span><span class="detail">${bars.join('; ')}</span></span></li>`,
  )}</ul>`;
}

/** Failures of a fixture that are on this phone, the newest first. @param {Site} site @param {string} group @param {number} position */
async function failuresOf(site, group, position) {
  const every = await site.children(group, 'failure');
  return every
    .filter((each) => facet(each, 'identity').position === position)
    .sort((a, b) => (facet(b, 'identity').noted_at ?? '').localeCompare(facet(a, 'identity').noted_at ?? ''));
}

/** @param {{site: Site, group: string, position: number, failures: RecordView<'failure'>[], told?: Remembered}} props */
function Failures({ site, group, position, failures, told }) {
  if (failures.length === 0) return null;
  return html`<section class="card" aria-label=${say('memory.failures')}>
    <h2>${say('memory.failures')}</h2>
    ${failures.map((each) => html`<${Failure} key=${each.id} site=${site} group=${group} position=${position} failure=${each} told=${told} />`)}
  </section>`;
}

/** @param {{site: Site, group: string, position: number, failure: RecordView<'failure'>, told?: Remembered}} props */
function Failure({ site, group, position, failure, told }) {
  const said = facet(failure, 'identity');
  const done = facet(failure, 'replaced');
  const [opened, setOpened] = useState(false);
  const photos = useLive(() => site.referring(failure.id, 'photo'), [failure.id]);
  const pending = useLive(() => waits(site, failure.id), [failure.id]);
  const on = said.noted_at ? dayOf(new Date(said.noted_at)) : '';
  return html`<div class="stack">
    <p class="strong">${say('memory.reported', { on, sign: choiceText(said.sign ?? '') })}</p>
    ${said.item && html`<p>${[said.item, said.serials].filter(Boolean).join(', ')}</p>`}
    ${said.note && html`<p>${said.note}</p>`}
    ${!done.how && html`<${Danger} sign=${said.sign ?? ''} />`}
    ${done.how && html`<p>${say('memory.done-as', { on: done.on ?? '', how: choiceText(done.how), item: done.item ?? '', serials: done.serials ?? '' })}</p>`}
    ${photos && photos.length > 0 && html`<p class="small">${say('memory.photos-of-it', { count: photos.length })}</p>`}
    ${pending !== false ? html`<p class="muted small">${say('memory.letter-when-sent')}</p>` : html`<a class="button main" href=${`/api/sites/${site.id}/memory/${group}/${position}/claim-${failure.id}.pdf`} download>${say('memory.claim-letter')}</a>`}
    <${ClaimSteps} site=${site} failure=${failure.id} />
    ${mayWrite(site, 'failure') && html`<${PhotoButton} site=${site} subject=${failure.id} purpose="damage" label=${say('memory.add-photo')} />`}
    ${mayWrite(site, 'failure', 'replaced') && !done.how && !opened && html`<button type="button" class="button" onClick=${() => setOpened(true)}>${say('memory.replace')}</button>`}
    ${opened && html`<${Replaced} site=${site} failure=${failure} told=${told} onDone=${() => setOpened(false)} />`}
  </div>`;
}

/** Whether something of a record is not sent yet. @param {Site} site @param {string} id */
const waits = async (site, id) => (await site.unsent()).operations.some(({ record }) => record === id);

/** An item as it is chosen: by its code, of two of one code by its numbers and its day too. @param {ItemNow} item @param {ItemNow[]} items */
const namedAmong = (item, items) =>
  items.filter(({ code }) => code === item.code).length === 1
    ? item.code
    : [item.code, item.serials.join(', '), item.fitted_on].filter(Boolean).join(', ');

const SIGNS = /** @type {const} */ ([
  'dark',
  'flickers',
  'dimmer',
  'noise',
  'hot-or-smells',
  'emergency-fails',
  'loose',
  'other-failure',
]);

/** Signs that do not wait until somebody comes. */
const DANGERS = new Set(['hot-or-smells', 'loose', 'emergency-fails']);

/** What is to be done at once. @param {{sign: string}} props */
const Danger = ({ sign }) =>
  DANGERS.has(sign) && html`<p class="notice bad" role="alert">${say(`memory.danger.${sign}`)}</p>`;

/** @param {{site: Site, params: {group: string, position: string}}} props */
export function ReportFailure({ site, params }) {
  const position = Number(params.position);
  const { state } = useStatus();
  const { told } = useRemembered(site, params.group, position, state === 'offline');
  const [sign, setSign] = useState('');
  const [chosen, setChosen] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const back = nowPath(site, params.group, params.position);
  const items = (told?.items ?? []).filter((each) => leftOf(each) > 0);
  const item = items.find((each) => keyOf(each) === chosen);
  /** @param {EventOf<HTMLFormElement>} event */
  const save = async (event) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const burned = numberFor(
      site.spec.records.failure.facets.identity.fields.hours,
      String(form.get('hours') ?? ''),
    );
    if (burned.problem) return setError(burned.problem);
    const note = String(form.get('note') ?? '').trim();
    const code = new URLSearchParams(location.search).get('code');
    const value = {
      parent: params.group,
      position,
      sign,
      noted_at: new Date().toISOString(),
      ...(item && { item: item.code }),
      ...(item && item.serials.length > 0 && { serials: item.serials.join(', ') }),
      ...(burned.number !== undefined && { hours: burned.number }),
      ...(code && { code }),
      ...(note && { note }),
    };
    try {
      await site.save([{ record: site.newId(), type: 'failure', facet: 'identity', value, seen: null }]);
      site.sync();
      navigate(back, { replace: true });
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<${Page} title=${say('memory.report-title')} over=${site.name} back=${back} site=${site.id} look="form">
    ${(told?.cautions ?? ['memory.caution.isolate', 'memory.caution.at-height']).map((code) => html`<p class="notice">${say(code)}</p>`)}
    <form class="stack" onSubmit=${save}>
      <fieldset><legend>${say('memory.what-is-seen')}</legend><div class="chips">
        ${SIGNS.map((each) => html`<label class="chip" key=${each}><input type="radio" name="sign" checked=${sign === each} onChange=${() => setSign(each)} /><span>${choiceText(each)}</span></label>`)}
      </div></fieldset>
      <${Danger} sign=${sign} />
      <button type="submit" class="button main wide" disabled=${!sign}>${say('memory.save-report')}</button>
      <p class="small muted">${say('memory.photo-after')}</p>
      <${Problem} error=${error} />
      <h2>${say('memory.more')}</h2>
      ${
        items.length > 0 &&
        html`<fieldset><legend>${say('memory.which-item')}</legend><div class="chips">
        ${[null, ...items].map((each) => html`<label class="chip" key=${each && keyOf(each)}><input type="radio" name="item" checked=${chosen === (each ? keyOf(each) : '')} onChange=${() => setChosen(each ? keyOf(each) : '')} /><span>${each ? namedAmong(each, items) : say('memory.whole-fixture')}</span></label>`)}
      </div></fieldset>`
      }
      <label class="field"><span>${say('memory.hours')}</span><input name="hours" inputmode="numeric" autocomplete="off" /></label>
      <label class="field"><span>${say('memory.in-words')}</span><textarea name="note" maxlength="2000" rows="3"></textarea></label>
    </form>
  <//>`;
}
