// What if: figures changed, totals moving with them; scenarios kept, compared side by side, applied or dropped.

import { useEffect, useState } from 'preact/hooks';
import { facet } from '../../../rules/survey.js';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { mayWrite } from '../../record_screens.js';
import { Problem } from '../../parts/parts.js';
import { useFollowed } from '../../parts/when_heard.js';
import { counted, say } from '../../words.js';
import { Desk } from '../parts.js';
import { NOTHING, saidOf, textsOf, WhatIfForm, wrongOf } from './what_if_form.js';
import { InSight, SideBySide } from './what_if_told.js';

const WAIT_MS = 500;
const NAME_LETTERS_MOST = 80;
const COMPARED_MOST = 3;

/** @typedef {RecordView<'scenario'>} Kept */
/** @typedef {{kept: Kept[], items: RecordView<'catalogue_item'>[], money: Record<string, unknown>, settings: Record<string, unknown>}} Places */

/** @param {Site} site @returns {Promise<Places>} */
async function readPlaces(site) {
  const [kept, items, [money], here] = await Promise.all([
    site.all('scenario'),
    site.all('catalogue_item'),
    site.all('money'),
    site.form(site.id, 'settings'),
  ]);
  return {
    kept: kept.sort((a, b) => nameOf(a).localeCompare(nameOf(b))),
    items: items.filter((item) => item.facets.bar || item.facets.driver),
    money: money ? facet(money, 'identity') : {},
    settings: here.value,
  };
}

/** @param {Kept} kept */
const nameOf = (kept) => facet(kept, 'identity').name ?? '';

/** @param {{site: Site}} props */
export function WhatIf({ site }) {
  const places = useLive(() => readPlaces(site), [site.id]);
  const decides = mayWrite(site, 'group', 'decision');
  return html`<${Desk} site=${site} at="/plan" back=${`/s/${site.id}/desk/plan`} title=${say('scenarios.title')}>
    <p>${say('scenarios.about')}</p>
    ${!decides && html`<p class="notice">${say('scenarios.no-manager')}</p>`}
    ${decides && places && html`<${Scenario} site=${site} places=${places} />`}
  <//>`;
}

/** What a scenario comes to, asked for anew a moment after a figure changed; the old answer stays in view meanwhile. @param {Site} site @param {ScenarioSaid | null} said @param {unknown} turn */
function useWhatIf(site, said, turn) {
  const [state, setState] = useState(
    /** @type {{told: ScenarioTold | null, busy: boolean, error: unknown}} */ ({
      told: null,
      busy: true,
      error: null,
    }),
  );
  const body = JSON.stringify(said);
  useEffect(() => {
    if (body === 'null') return undefined;
    const gone = new AbortController();
    setState((before) => ({ ...before, busy: true }));
    const timer = setTimeout(() => {
      askServer(`/api/sites/${site.id}/what-if`, {
        method: 'POST',
        body: JSON.parse(body),
        signal: gone.signal,
      }).then(
        (told) => setState({ told: /** @type {ScenarioTold} */ (told), busy: false, error: null }),
        (error) => gone.signal.aborted || setState((before) => ({ ...before, busy: false, error })),
      );
    }, WAIT_MS);
    return () => {
      clearTimeout(timer);
      gone.abort();
    };
  }, [site.id, body, turn]);
  return state;
}

/** @param {{site: Site, places: Places}} props */
function Scenario({ site, places }) {
  const [texts, setTexts] = useState(/** @type {ScenarioTexts} */ (NOTHING));
  const [at, setAt] = useState('');
  const [status, setStatus] = useState('');
  const [applied, setApplied] = useState(false);
  const turn = useFollowed(site);
  const wrong = wrongOf(texts, String(places.money.currency ?? ''));
  const state = useWhatIf(site, wrong.length ? null : saidOf(texts), turn);
  const change = (/** @type {ScenarioTexts} */ next) => {
    setTexts(next);
    setStatus('');
    setApplied(false);
  };
  const load = (/** @type {Kept} */ kept) => {
    change(textsOf(facet(kept, 'identity')));
    setAt(kept.id);
  };
  const name = places.kept.find(({ id }) => id === at);
  return html`<div class="stack">
    <div>
      <${InSight} told=${state.told} busy=${state.busy && !wrong.length} wrong=${wrong} />
      <${WhatIfForm} places=${places} texts=${texts} onChange=${change} />
    </div>
    ${wrong.map((line) => html`<p class="notice" role="alert" key=${line}>${line}</p>`)}
    <${Problem} error=${state.error} />
    <p role="status">${state.busy && !wrong.length ? say('scenarios.working') : ''}</p>
    ${state.told && html`<${Compared} site=${site} places=${places} told=${state.told} at=${at} turn=${turn} />`}
    ${
      state.told &&
      !wrong.length &&
      html`<${Apply} site=${site} said=${saidOf(texts)} told=${state.told} busy=${state.busy} name=${name ? nameOf(name) : ''} applied=${applied} onApplied=${setApplied} />`
    }
    <${Keep} key=${at} site=${site} said=${saidOf(texts)} at=${at} name=${name ? nameOf(name) : ''} off=${wrong.length > 0} onKept=${(
      /** @type {string} */ id,
      /** @type {string} */ text,
    ) => {
      setAt(id);
      setStatus(text);
    }} />
    <p role="status">${status}</p>
    <${AllKept} site=${site} kept=${places.kept} onLoad=${load} onDropped=${(/** @type {Kept} */ kept) => {
      if (kept.id === at) setAt('');
      setStatus(say('scenarios.dropped', { name: nameOf(kept) }));
    }} />
  </div>`;
}

/** The changed figures beside today's and beside up to three kept scenarios. @param {{site: Site, places: Places, told: ScenarioTold, at: string, turn: unknown}} props */
function Compared({ site, places, told, at, turn }) {
  const [chosen, setChosen] = useState(/** @type {string[]} */ ([]));
  const others = places.kept.filter(({ id }) => id !== at);
  const shown = others.filter(({ id }) => chosen.includes(id)).slice(0, COMPARED_MOST);
  const answers = useKept(site, shown, turn);
  const columns = shown.flatMap((kept) =>
    answers[kept.id] ? [{ name: nameOf(kept), figures: answers[kept.id].then }] : [],
  );
  const flip = (/** @type {string} */ id, /** @type {boolean} */ on) =>
    setChosen((before) =>
      on ? [...before, id].slice(-COMPARED_MOST) : before.filter((each) => each !== id),
    );
  return html`<div class="stack">
    ${others.length > 0 && html`<div class="chips">${others.map((kept) => html`<label class="chip" key=${kept.id}><input type="checkbox" checked=${chosen.includes(kept.id)} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => flip(kept.id, event.currentTarget.checked)} /><span>${say('scenarios.compare', { name: nameOf(kept) })}</span></label>`)}</div>`}
    <${SideBySide} told=${told} others=${columns} />
  </div>`;
}

/** What kept scenarios come to now, by id. @param {Site} site @param {Kept[]} kept @param {unknown} turn */
function useKept(site, kept, turn) {
  const [answers, setAnswers] = useState(/** @type {Record<string, ScenarioTold>} */ ({}));
  const asked = JSON.stringify(kept.map((each) => [each.id, saidOf(textsOf(facet(each, 'identity')))]));
  useEffect(() => {
    const gone = new AbortController();
    (async () => {
      for (const [id, body] of JSON.parse(asked)) {
        const told = await askServer(`/api/sites/${site.id}/what-if`, {
          method: 'POST',
          body,
          signal: gone.signal,
        });
        setAnswers((before) => ({ ...before, [id]: told }));
      }
    })().catch(() => {});
    return () => gone.abort();
  }, [site.id, asked, turn]);
  return answers;
}

/** @param {{site: Site, said: ScenarioSaid, told: ScenarioTold, busy: boolean, name: string, applied: boolean, onApplied: (applied: boolean) => void}} props */
function Apply({ site, said, told, busy, name, applied, onApplied }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [working, setWorking] = useState(false);
  const [status, setStatus] = useState('');
  const doing = async (/** @type {() => Promise<string>} */ what) => {
    setWorking(true);
    setError(null);
    try {
      setStatus(await what());
    } catch (refused) {
      setError(refused);
    }
    setWorking(false);
  };
  const apply = async () => {
    await store.syncNow();
    /** @type {ScenarioTold} */
    const now = await askServer(`/api/sites/${site.id}/what-if`, { method: 'POST', body: said });
    if (now.head !== told.head) return say('scenarios.stale');
    await site.save(await draftsOf(site, now, name));
    onApplied(true);
    await store.syncNow();
    return say('scenarios.applied');
  };
  const undo = async () => {
    await site.undo();
    onApplied(false);
    await store.syncNow();
    return say('scenarios.undone');
  };
  const nothing = told.edits.length + told.decided.length === 0;
  return html`<section class="card" aria-label=${say('scenarios.apply')}>
    <${Problem} error=${error} />
    <p role="status" class="strong">${status}</p>
    ${
      applied
        ? html`<button type="button" class="button" disabled=${working} onClick=${() => doing(undo)}>${say('scenarios.undo')}</button>`
        : html`<p>${nothing ? say('scenarios.nothing') : say('scenarios.apply-about', { edits: counted(told.edits.length, 'setting'), groups: counted(told.decided.length, 'group') })}</p>
      <button type="button" class="button" disabled=${busy || working || nothing} onClick=${() => doing(apply)}>${say('scenarios.apply')}</button>`
    }
  </section>`;
}

/** All that applying writes, as one save. @param {Site} site @param {ScenarioTold} told @param {string} name @returns {Promise<Draft[]>} */
async function draftsOf(site, told, name) {
  const reason = name ? say('scenarios.reason', { name }) : say('scenarios.reason-unnamed');
  const drafts = told.edits.map(async ({ record, facet: at, value }) => ({
    ...(await site.form(record, at)),
    value,
  }));
  const decided = told.decided.map(async ({ group, decision, arrangement }) => ({
    ...(await site.form(group, 'decision')),
    value: { decision, ...(arrangement && { arrangement }), reason, how_chosen: 'best-order' },
  }));
  return /** @type {Draft[]} */ (await Promise.all([...drafts, ...decided]));
}

/** @param {{site: Site, said: ScenarioSaid, at: string, name: string, off: boolean, onKept: (id: string, text: string) => void}} props */
function Keep({ site, said, at, name: before, off, onKept }) {
  const [name, setName] = useState(before);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const keep = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!name.trim()) return setError({ code: 'scenarios.name-missing', facts: {} });
    setError(null);
    try {
      const id = at && name.trim() === before ? at : site.newId();
      const value = { name: name.trim(), ...said };
      const form =
        id === at
          ? { ...(await site.form(id, 'identity')), value }
          : {
              record: id,
              type: 'scenario',
              facet: 'identity',
              value: { parent: site.id, ...value },
              seen: null,
            };
      await site.save([/** @type {Draft} */ (form)]);
      await store.syncNow();
      onKept(id, say('scenarios.kept', { name: name.trim() }));
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<form class="card release" onSubmit=${keep} aria-label=${say('scenarios.keep')}>
    <div class="field"><label for="scenario-name">${say('scenarios.name')}</label>
      <input id="scenario-name" value=${name} maxlength=${NAME_LETTERS_MOST} autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setName(event.currentTarget.value)} /></div>
    <button class="button main" disabled=${off}>${say('scenarios.keep')}</button>
    <${Problem} error=${error} />
  </form>`;
}

/** @param {{site: Site, kept: Kept[], onLoad: (kept: Kept) => void, onDropped: (kept: Kept) => void}} props */
function AllKept({ site, kept, onLoad, onDropped }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const drop = async (/** @type {Kept} */ each) => {
    try {
      await site.remove(each.id);
      await store.syncNow();
      onDropped(each);
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<section class="stack" aria-label=${say('scenarios.all')}>
    <h2>${say('scenarios.all')}</h2>
    <${Problem} error=${error} />
    ${kept.length === 0 && html`<p class="muted">${say('scenarios.none')}</p>`}
    ${kept.map(
      (
        each,
      ) => html`<div class="card" key=${each.id}><p class="strong">${nameOf(each)}</p><div class="side-by-side">
      <button type="button" class="button" onClick=${() => onLoad(each)}>${say('scenarios.load', { name: nameOf(each) })}</button>
      <button type="button" class="button" onClick=${() => drop(each)}>${say('scenarios.drop', { name: nameOf(each) })}</button></div></div>`,
    )}
  </section>`;
}
