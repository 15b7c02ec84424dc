// Choosing for many groups at once: the best order for the whole site, by rule, or leaving them; shown before it is taken.

import { useEffect, useRef, useState } from 'preact/hooks';
import { facet, markOf, nameOfRoom, Survey } from '../../../rules/survey.js';
import { askServer, linesOfServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { useIntoView } from '../../into_view.js';
import { Problem } from '../../parts/parts.js';
import { counted, say } from '../../words.js';
import { Desk } from '../parts.js';
import { notPayingPath } from './not_paying.js';
import { askedIn, OrderForm, questionOf } from './order_form.js';
import { OrderTold, Progress } from './order_told.js';

const DECISIONS = { recommended: 'convert-as-recommended', leave: 'leave-as-is', defer: 'defer' };
/** Why it is done in spite of the money, or for its sake. @type {Record<string, string[]>} */
const REASONS = {
  recommended: ['lamps-not-sold', 'all-alike', 'light', 'rule'],
  leave: ['does-not-pay', 'customers-wish'],
  defer: ['does-not-pay', 'customers-wish'],
};
/** Decisions in one save, which one tap takes back. */
const REASON_LETTERS_MOST = 300;

/** @typedef {{floors: RecordView<'floor'>[], rooms: RecordView<'room'>[], kinds: RecordView<'kind'>[], items: RecordView<'catalogue_item'>[], currency: string, survey: Survey}} Places */

/** @param {Site} site @returns {Promise<Places>} */
async function readPlaces(site) {
  const survey = new Survey(await site.everything());
  /** @template {RecordType} T @param {T} type @returns {RecordView<T>[]} */
  const of = (type) => /** @type {RecordView<T>[]} */ (/** @type {unknown} */ (survey.ofType(type)));
  const [money] = of('money');
  return {
    survey,
    floors: of('floor'),
    rooms: of('room').sort((a, b) => nameOfRoom(a).localeCompare(nameOfRoom(b))),
    kinds: of('kind').sort((a, b) => markOf(a).localeCompare(markOf(b))),
    items: of('catalogue_item').filter((item) => item.facets.bar || item.facets.driver),
    currency: (money && facet(money, 'identity').currency) ?? '',
  };
}

/** @param {{site: Site}} props */
export function PlanOrder({ site }) {
  const places = useLive(() => readPlaces(site), [site.id]);
  return html`<${Desk} site=${site} at="/plan" back=${`/s/${site.id}/desk/plan`} title=${say('site-order.title')}>
    <p>${say('site-order.about')}</p>
    ${places && html`<${Choosing} site=${site} places=${places} />`}
  <//>`;
}

/** @param {{site: Site, places: Places}} props */
function Choosing({ site, places }) {
  const [asked, setAsked] = useState(() => askedIn(location.search));
  const [step, setStep] = useState(/** @type {OrderStep | null} */ (null));
  const [told, setTold] = useState(/** @type {OrderDifference | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [taken, setTaken] = useState('');
  const running = useRef(/** @type {AbortController | null} */ (null));
  const best = useRef(/** @type {OrderStep | null} */ (null));
  const start = () => {
    running.current?.abort();
    setTold(null);
    setError(null);
    setTaken('');
  };
  const differenceOf = async (/** @type {Decided[]} */ decided) =>
    setTold(await askDifference(site, asked, decided));
  const search = async () => {
    const gone = new AbortController();
    running.current = gone;
    best.current = null;
    setStep({ step: 'begun' });
    const onLine = (/** @type {OrderStep} */ line) => {
      if (line.decided) best.current = line;
      if (line.step === 'refused')
        setError(Object.assign(new Error(), { code: line.code, facts: line.facts }));
      else if (line.answer) setTold(line.answer);
      else setStep(line);
    };
    await linesOfServer(
      `/api/sites/${site.id}/best-order`,
      { method: 'POST', body: questionOf(asked), signal: gone.signal },
      onLine,
    );
  };
  const show = async () => {
    const groups = await paying(site, asked.scope, chosen(places.survey, asked.scope));
    if (groups.length === 0) throw Object.assign(new Error(), { code: 'site-order.nobody', facts: {} });
    const decision = DECISIONS[/** @type {keyof typeof DECISIONS} */ (asked.what)];
    await differenceOf(groups.map((group) => ({ group, decision })));
  };
  const look = async () => {
    start();
    try {
      await (asked.what === 'best' ? search() : show());
    } catch (refused) {
      if (!running.current?.signal.aborted) setError(refused);
    }
    if (!running.current?.signal.aborted) setStep(null);
  };
  const stop = async () => {
    running.current?.abort();
    const line = best.current;
    setStep(null);
    if (!line?.decided) return;
    try {
      await differenceOf(line.decided);
      setTold(
        (answer) =>
          answer && { ...answer, gap: line.gap, proved: line.proved, seconds: line.seconds, found: true },
      );
    } catch (refused) {
      setError(refused);
    }
  };
  // Who comes from the plan with a choice in the address sees at once what it would change.
  useEffect(() => {
    if (asked.scope.pays) look();
  }, []);
  return html`<div class="stack">
    <${OrderForm} places=${places} asked=${asked} onChange=${setAsked} busy=${step !== null} onLook=${look} />
    <${Problem} error=${error} />
    ${step && html`<${Progress} step=${step} currency=${places.currency} onStop=${stop} />`}
    ${
      told &&
      html`<${Taking} site=${site} asked=${asked} told=${told} onAgain=${look} onDrop=${() => setTold(null)} onTaken=${(
        /** @type {string} */ text,
      ) => {
        setTold(null);
        setTaken(text);
      }} />`
    }
    ${taken && html`<${Taken} site=${site} text=${taken} />`}
  </div>`;
}

/** What decisions would change now; what may not be changed is left out. @param {Site} site @param {OrderAsked} asked @param {Decided[]} decided @returns {Promise<OrderDifference>} */
const askDifference = (site, asked, decided) =>
  askServer(`/api/sites/${site.id}/best-order/difference`, {
    method: 'POST',
    body: { decided, each_item: Number(asked.each_item) || 0, keep_decided: asked.keep_decided },
  });

/** @param {OrderDifference} told @returns {Decided[]} */
const decidedOf = (told) =>
  told.changes.map(({ group, decision, arrangement }) => ({
    group,
    decision,
    ...(arrangement && { arrangement }),
  }));

/** Of some groups those that a scope chooses by money. @param {Site} site @param {OrderScope} scope @param {string[]} groups */
async function paying(site, scope, groups) {
  if (!scope.pays) return groups;
  /** @type {NotPayingTold} */
  const told = await askServer(notPayingPath(site));
  const losing = new Set([...told.groups, ...told.kept].map(({ group }) => group));
  return groups.filter((group) => losing.has(group));
}

/** Groups of a scope, with a kind and a room. @param {Survey} survey @param {OrderScope} scope */
function chosen(survey, scope) {
  const groups = /** @type {RecordView<'group'>[]} */ (/** @type {unknown} */ (survey.ofType('group')));
  return groups
    .filter((group) => {
      const [kind, room] = [survey.kindOf(group), survey.roomOf(group)];
      if (!kind || !room) return false;
      return (
        (!scope.kind || kind.id === scope.kind) &&
        (!scope.room || room.id === scope.room) &&
        (!scope.floor || survey.floorOf(room)?.id === scope.floor) &&
        (!scope.space_type || (facet(room, 'identity').space_type ?? 'not-said') === scope.space_type)
      );
    })
    .map(({ id }) => id);
}

/** What would change, the reason, and taking or dropping it. @param {{site: Site, asked: OrderAsked, told: OrderDifference, onAgain: () => void, onDrop: () => void, onTaken: (text: string) => void}} props */
function Taking({ site, asked, told, onAgain, onDrop, onTaken }) {
  const [reason, setReason] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [stale, setStale] = useState(false);
  const [busy, setBusy] = useState(false);
  // Of a search it stands where the search told how far it was, which somebody may have left to read on.
  const section = useIntoView(told.seconds === undefined);
  const leaves = asked.what === 'leave' || asked.what === 'defer';
  const needsReason = leaves || asked.scope.pays !== undefined;
  const groups = counted(told.changes.length, 'group');
  const take = async (/** @type {boolean} */ although) => {
    if (needsReason && !reason.trim())
      return setError({ code: leaves ? 'site-order.needs-reason' : 'not-paying.needs-reason', facts: {} });
    setBusy(true);
    setError(null);
    try {
      await store.syncNow();
      /** @type {SitePlan} */
      const now = await askServer(`/api/sites/${site.id}/plan`);
      if (now.head !== told.head && !although) setStale(true);
      else {
        // Released or fitted since: the server leaves those out of what is taken all the same.
        const current = although ? await askDifference(site, asked, decidedOf(told)) : told;
        if (current.changes.length) await site.save(await decisions(site, asked, current, reason.trim()));
        await store.syncNow();
        onTaken(say('site-order.taken', { groups: counted(current.changes.length, 'group') }));
      }
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return html`<section class="stack" ref=${section} aria-label=${say('site-order.would-change')}>
    <${OrderTold} told=${told} />
    ${told.changes.length === 0 && html`<div><button type="button" class="button" onClick=${onDrop}>${say('site-order.drop')}</button></div>`}
    ${
      told.changes.length > 0 &&
      html`<form class="card" onSubmit=${(/** @type {Event} */ event) => {
        event.preventDefault();
        take(false);
      }}>
      ${needsReason && html`<${ListedReasons} what=${asked.what} reason=${reason} onChoose=${setReason} />`}
      <div class="field"><label for="order-reason">${say('site-order.reason')}</label>
        <p class="help" id="order-reason-help">${say('site-order.reason-about')}</p>
        <input id="order-reason" aria-describedby="order-reason-help" value=${reason} maxlength=${REASON_LETTERS_MOST} autocomplete="off"
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setReason(event.currentTarget.value)} /></div>
      <${Problem} error=${error} />
      ${
        stale
          ? html`<div class="notice stack" role="alert"><p>${say('site-order.stale')}</p>
        <button type="button" class="button main" onClick=${onAgain}>${say('site-order.again')}</button>
        <button type="button" class="button" disabled=${busy} onClick=${() => take(true)}>${say('site-order.take-anyway')}</button></div>`
          : html`<button class="button main" disabled=${busy}>${say('site-order.take', { groups })}</button>`
      }
      <button type="button" class="button" onClick=${onDrop}>${say('site-order.drop')}</button>
    </form>`
    }
  </section>`;
}

/** Reasons that are given often, to be chosen in place of typing; what is chosen stands in the line below and may be changed there. @param {{what: OrderAsked['what'], reason: string, onChoose: (reason: string) => void}} props */
function ListedReasons({ what, reason, onChoose }) {
  const listed = (REASONS[what] ?? []).map((name) => say(`not-paying.because-${name}`));
  return html`<div class="field"><label for="order-listed">${say('not-paying.listed')}</label>
    <select id="order-listed" value=${listed.includes(reason) ? reason : ''} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChoose(event.currentTarget.value)}>
      <option value="" selected=${!listed.includes(reason)}>${say('not-paying.own-words')}</option>
      ${listed.map((each) => html`<option key=${each} value=${each} selected=${each === reason}>${each}</option>`)}
    </select></div>`;
}

/** Each decision as a draft of one save. @param {Site} site @param {OrderAsked} asked @param {OrderDifference} told @param {string} reason @returns {Promise<Draft[]>} */
async function decisions(site, asked, told, reason) {
  const isBest = asked.what === 'best' && Object.keys(asked.scope).length === 0;
  const because = reason || say(isBest ? 'site-order.reason-best' : 'site-order.reason-rule');
  /** @type {Draft[]} */
  const drafts = [];
  for (const change of told.changes) {
    const form = await site.form(change.group, 'decision');
    const value = {
      decision: change.decision,
      ...(change.arrangement && { arrangement: change.arrangement }),
      reason: because,
      how_chosen: isBest ? 'best-order' : 'by-rule',
    };
    drafts.push(/** @type {Draft} */ ({ ...form, value }));
  }
  return drafts;
}

/** What was taken, and one tap that takes it back. @param {{site: Site, text: string}} props */
function Taken({ site, text }) {
  const [undone, setUndone] = useState(false);
  const notice = useIntoView();
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const undo = async () => {
    try {
      await site.undo();
      setUndone(true);
      await store.syncNow();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<div class="notice stack" ref=${notice} role="status">
    <p class="strong">${undone ? say('site-order.undone') : text}</p>
    <${Problem} error=${error} />
    ${!undone && html`<button type="button" class="button" onClick=${undo}>${say('site-order.undo')}</button>`}
    <a class="button" href=${`/s/${site.id}/desk/plan`}>${say('desk.conversions')}</a>
  </div>`;
}
