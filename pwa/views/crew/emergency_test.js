// The emergency test of one fixture: the indicator, how long the light lasted or when the test is due, and what was noted so far.

import { useState } from 'preact/hooks';
import { SECOND_SOURCE } from '../../rules/constants.js';
import { testState } from '../../rules/installing/punch_list.js';
import { facet } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { checkField } from '../forms/field_checks.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { FieldInput } from '../inputs/fields.js';
import { ownName } from '../drafts.js';
import { keep, kept } from '../../store/kept.js';
import { byOrder } from '../newest.js';
import { Mark, Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { choiceText, say, timeText } from '../words.js';
import { emergencyAt } from './at_position.js';
import { doneAt } from './fixture_facts.js';

const DUE = 'still-due';
/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOKS = { passed: 'done', failed: 'attention', 'too short': 'attention', [DUE]: '' };

/** @typedef {{indicator?: string, result?: string, minutes?: number, due_on?: string, note?: string, wanted_min?: number}} Test */

/** What is asked for with a result: minutes where it was tested, the day where it is due. @param {string | undefined} result @returns {Array<'minutes' | 'due_on'>} */
const askedWith = (result) => (result === undefined ? [] : [result === DUE ? 'due_on' : 'minutes']);

/**
 * What is missing or wrong in a test, by field; empty when it may be saved.
 *
 * @param {Record<string, SpecField>} fields the spec's @param {Test} test
 * @returns {Record<string, {code: string, facts: Facts}>}
 */
export function wrongInTest(fields, test) {
  const asked = ['indicator', 'result', ...askedWith(test.result)];
  /** @type {Record<string, Reason>} */
  const wrong = {};
  for (const name of [...asked, 'note']) {
    const found = checkField(
      { ...fields[name], required: asked.includes(name) },
      /** @type {Value} */ (test)[name],
    );
    if (found) wrong[name] = found;
  }
  return wrong;
}

/** Only what belongs to the result that was chosen. @param {Test} test @returns {Test} */
export function testToSave(test) {
  const names = ['indicator', 'result', 'note', ...askedWith(test.result)];
  return Object.fromEntries(
    Object.entries(test).filter(([name, value]) => names.includes(name) && value !== undefined),
  );
}

/** @param {{site: Site, read: GroupRead, position: number}} props */
export function EmergencyTest({ site, read, position }) {
  const emergency = emergencyAt(read.conversion?.facets.identity?.frozen ?? {}, position);
  const tests = useLive(() => testsAt(site, read.group.id, position), [read.group.id, position]);
  if (!tests || (!emergency && tests.length === 0)) return null;
  const writes = site.spec.records.emergency_test.facets.identity.write.includes(site.role);
  return html`<section class="stack" aria-label=${say('crew.emergency-test-title')}>
    <h2>${say('crew.emergency-test-title')}</h2>
    ${tests.map((each) => html`<${Entry} key=${each.id} test=${each} wanted=${emergency?.wanted_min} />`)}
    ${emergency && writes && html`<${Form} site=${site} read=${read} position=${position} emergency=${emergency} />`}
  </section>`;
}

/** Tests of a fixture, the newest first. @param {Site} site @param {string} group @param {number} position @returns {Promise<RecordView<'emergency_test'>[]>} */
async function testsAt(site, group, position) {
  const tests = await site.children(group, 'emergency_test');
  return tests.filter((each) => each.facets.identity?.position === position).sort((a, b) => byOrder(b, a));
}

/** @param {{test: RecordView<'emergency_test'>, wanted?: number | null}} props `wanted`: minutes that the card wants */
function Entry({ test, wanted: byCard }) {
  const told = facet(test, 'identity');
  const state = testState(test, byCard);
  const lasted = told.minutes === undefined ? '' : `${told.minutes} min`;
  const wanted = told.wanted_min === undefined ? '' : say('crew.wanted-min', { wanted_min: told.wanted_min });
  return html`<div class="notice stack">
    <p class="side-by-side">
      <${Mark} look=${LOOKS[state] ?? ''}>${choiceText(state)}<//>
      <span class="small muted">${store.whoSaid(test)}, ${timeText(doneAt(test))}</span>
    </p>
    <p>${[say('crew.indicator', { indicator: choiceText(told.indicator) }), lasted, wanted, told.due_on && say('crew.due-on', { due_on: told.due_on })].filter(Boolean).join('; ')}</p>
    ${told.note && html`<p>${told.note}</p>`}
  </div>`;
}

/** @param {{site: Site, read: GroupRead, position: number, emergency: CardEmergency}} props */
function Form({ site, read, position, emergency }) {
  const draft = ownName(`emergency.${read.group.id}.${position}`);
  const { fields } = site.spec.records.emergency_test.facets.identity;
  const [test, setTest] = useState(/** @returns {Test} */ () => kept(draft) ?? {});
  const [wrong, setWrong] = useState(/** @type {Record<string, Reason | undefined>} */ ({}));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState('');
  /** @param {string} name @param {unknown} value @param {Reason | null} [unread] */
  const change = (name, value, unread) => {
    const next = { ...test, [name]: value };
    setTest(next);
    setWrong({ ...wrong, [name]: unread ?? undefined });
    keep(draft, next);
  };
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const found = wrongInTest(fields, test);
    setWrong(found);
    setError(null);
    if (Object.keys(found).length > 0) return;
    try {
      await saveTest(site, read, position, {
        ...testToSave(test),
        wanted_min: emergency.wanted_min ?? undefined,
      });
      setSaved(choiceText(test.result));
      setTest({});
      keep(draft, undefined);
    } catch (problem) {
      setError(problem);
    }
  };
  if (saved)
    return html`<${Saved} site=${site} onUndone=${() => setSaved('')}>${say('crew.saved-emergency-test', { saved })}<//>`;
  /** @param {string} name */
  const input = (
    name,
  ) => html`<${FieldInput} key=${name} name=${name} field=${fields[name]} value=${/** @type {Value} */ (test)[name]} problem=${wrong[name] ?? null}
    onChange=${(/** @type {unknown} */ value, /** @type {Reason | null} */ unread) => change(name, value, unread)} />`;
  return html`<form class="card" onSubmit=${submit} aria-label=${say('crew.emergency-test-title')} novalidate>
    <p>${say(SECOND_SOURCE.includes(emergency.duty ?? '') ? 'crew.emergency-test-source' : 'crew.emergency-test', { wanted: emergency.wanted_min ? `${emergency.wanted_min} min` : say('crew.what-the-local-code-says') })}</p>
    ${input('indicator')}
    ${input('result')}
    ${test.result && test.result !== DUE && input('minutes')}
    ${test.result === DUE && html`<${DueOn} value=${test.due_on} problem=${wrong.due_on} onChange=${(/** @type {string | undefined} */ value) => change('due_on', value)} />`}
    ${input('note')}
    <${Problem} error=${error} />
    <button class="button main">${say('crew.save-the-test')}</button>
  </form>`;
}

/** @param {{value?: string, problem?: Reason, onChange: (value: string | undefined) => void}} props */
function DueOn({ value, problem, onChange }) {
  return html`<div class="field">
    <label for="due-on">${say('page.due-on')}</label>
    <input id="due-on" type="date" value=${value ?? ''} aria-invalid=${problem ? 'true' : 'false'}
      onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value || undefined)} />
    <${Problem} error=${problem ?? null} />
  </div>`;
}

/** @param {Site} site @param {GroupRead} read @param {number} position @param {Test} test */
async function saveTest(site, read, position, test) {
  const told = Object.fromEntries(Object.entries(test).filter(([, value]) => value !== undefined));
  const value = {
    parent: read.group.id,
    position,
    conversion: read.conversion?.id,
    ...told,
    noted_at: new Date().toISOString(),
  };
  await site.save([{ record: site.newId(), type: 'emergency_test', facet: 'identity', value, seen: null }]);
}
