// One group from near: what is proposed and why, what else would do, what was rejected and by how much; and the decision.

import { useEffect, useState } from 'preact/hooks';
import { isByLamp, LEAST_FIXTURES } from '../../../rules/fit/by_lamp.js';
import { store } from '../../../store/store.js';
import { arrangementText } from '../../coded_text.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { useTimesSent } from '../../parts/when_heard.js';
import { choiceText, say } from '../../words.js';
import { FromMemory } from '../from_memory.js';
import { Life } from '../money/life.js';
import { Sensitivity } from '../money/sensitivity.js';
import { Answer, number, SiteValues, Table, useServer } from '../parts.js';
import { CostAndLight } from './pictures.js';
import { LightOfRoomPicture, LightTerms } from './room_light.js';

const FIRST = 12;
/** @type {Record<string, string>} */
const SIDE = {
  recommended: 'desk.side.recommended',
  one_bar_per_lamp: 'desk.side.one-bar-per-lamp',
  brightest: 'desk.side.brightest',
  dimmest: 'desk.side.dimmest',
};
const WITH_THIS = 'convert-with-this-arrangement';
/** What needs a reason, for all screens tell it. */
const NOT_CONVERTED = new Set(['leave-as-is', 'defer']);

/** What a manager says of a group, as far as it is chosen. @typedef {Partial<Record<'decision' | 'arrangement' | 'reason', string> & Record<'accepts_trial' | 'accepts_lamp' | 'accepts_led_tubes', boolean>>} Decided */

/** @param {{site: Site, group: string, currency: string, decides: boolean}} props */
export function Decision({ site, group, currency, decides }) {
  const answer = useServer(`/api/sites/${site.id}/groups/${group}/plan`, [useTimesSent(site)]);
  return html`<${Answer} answer=${answer}>${(/** @type {GroupPlan} */ plan) => html`<div class="stack">
    ${plan.why.map(({ code, facts }) => html`<p>${say(code, facts)}</p>`)}
    <${SiteValues} values=${plan.site_values} />
    <${FromMemory} said=${plan.from_memory} />
    ${plan.instead.map(({ instead, facts }) => html`<p>${say(instead, facts)}</p>`)}
    <${Cautions} codes=${plan.proposal ? plan.cautions : []} />
    <${Wiring} plan=${plan} />
    ${plan.feasible.length > 0 && html`<${Feasible} plan=${plan} currency=${currency} />`}
    <${CostAndLight} plan=${plan} currency=${currency} />
    ${plan.room_light && html`<${LightOfRoomPicture} light=${plan.room_light} />`}
    ${plan.corrected && html`<p>${say(plan.corrected.code, plan.corrected.facts)}</p>`}
    ${plan.light_terms && html`<${LightTerms} terms=${plan.light_terms} />`}
    <${Emergency} checks=${plan.proposal?.emergency ? plan.proposal.checks : []} />
    ${plan.money_told.length > 0 && html`<ul class="rows">${plan.money_told.map(({ code, facts }) => html`<li class="row-text"><span class="detail">${say(code, facts)}</span></li>`)}</ul>`}
    <${Life} life=${plan.proposal?.money.life_told} currency=${currency} />
    <${Sensitivity} swings=${plan.proposal?.money.sensitivity} currency=${currency} about=${say('desk.what-is-proposed')} />
    ${plan.rejected.length > 0 && html`<${Rejected} rejected=${plan.rejected} />`}
    <${Assumed} plan=${plan} />
    <a class="button" href=${`/s/${site.id}/group/${group}`}>${say('desk.open-the-group')}</a>
    ${decides && html`<${Decide} site=${site} group=${group} plan=${plan} />`}
  </div>`}<//>`;
}

/** What a crew is cautioned of at this group: whoever releases it has read it. @param {{codes: string[]}} props */
function Cautions({ codes }) {
  if (codes.length === 0) return null;
  return html`<section class="stack" aria-label=${say('desk.cautions-of-the-crew')}>
    <h3>${say('desk.cautions-of-the-crew')}</h3>
    <ul class="rows">${codes.map((code) => html`<li class="row-text" key=${code}><span class="detail">${say(code)}</span></li>`)}</ul>
  </section>`;
}

/** Each driver of what is proposed, with its own bars; and with whom the group is one decision. @param {{plan: GroupPlan}} props */
function Wiring({ plan: { proposal, partner, wiring_told: told } }) {
  if (!proposal) return partner && html`<p>${say('plan.pair', partner)}</p>`;
  return html`<section class="stack" aria-label=${say('desk.wiring')}>
    <h3>${say('desk.how-one-fixture-is-wired')}</h3>
    ${partner && html`<p>${say('plan.pair', partner)}</p>`}
    <ul class="rows">${told.map(({ code, facts }) => html`<li class="row-text"><span class="detail">${say(code, facts)}</span></li>`)}</ul>
    <p class="caution" role="note">${say('plan.wiring.caution')}</p>
  </section>`;
}

/** @param {{plan: GroupPlan, currency: string}} props */
function Feasible({ plan, currency }) {
  /** @type {Map<string, string>} */
  const named = new Map();
  for (const [side, arrangements] of Object.entries(plan.side_by_side)) {
    for (const each of arrangements)
      named.set(each, [named.get(each), say(SIDE[side] ?? side)].filter(Boolean).join(', '));
  }
  const shown = plan.feasible.filter(
    (each, /** @type {number} */ place) => place < FIRST || named.has(each.arrangement),
  );
  return html`<${Table} caption=${say('desk.what-would-do-cheapest-first', { feasible_count: plan.feasible_count })} numbers=${[2, 3, 4, 5]} stacks
    heads=${[say('desk.arrangement'), say('desk.stands-out-as'), 'W', say('desk.of-todays-light'), say('desk.cost', { currency }), say('desk.life-cycle-cost', { currency })]}
    rows=${shown.map((each) => [
      arrangementText(each.arrangement),
      named.get(each.arrangement) ?? '',
      number(each.watts),
      number(each.light.share_of_today_pct),
      number(each.money.cost),
      number(each.money.lcc),
    ])} />`;
}

/** Checks of an emergency group: its pack, its second source, its d.c. */
const OF_EMERGENCY = /^(pack|emergency|driver\.pack|driver\.emergency|driver\.dc)/;

/** How what is proposed does its emergency duty, each check with its numbers. @param {{checks: CheckTold[]}} props */
function Emergency({ checks }) {
  const own = checks.filter(({ check }) => OF_EMERGENCY.test(check));
  if (!own.length) return null;
  return html`<details><summary>${say('desk.emergency-what-was-checked', { own: own.length })}</summary>
    <ul class="rows">${own.map(({ code, facts, verdict }) => html`<li class="row-text"><span class="strong">${choiceText(verdict)}</span><span class="detail">${say(code, facts)}</span></li>`)}</ul>
  </details>`;
}

/** @param {{rejected: GroupPlan['rejected']}} props */
function Rejected({ rejected }) {
  const [most, setMost] = useState(FIRST);
  return html`<details><summary>${say('desk.what-was-rejected-and-by', { rejected: rejected.length })}</summary>
    <ul class="rows">${rejected
      .slice(0, most)
      .map(
        ({ arrangement, code, facts }) =>
          html`<li class="row-text"><span class="strong">${arrangement}</span><span class="detail">${say(code, facts)}</span></li>`,
      )}</ul>
    ${rejected.length > most && html`<button type="button" class="button" onClick=${() => setMost(most * 4)}>${say('page.show-more-left', { left: rejected.length - most })}</button>`}
  </details>`;
}

/** What light is wanted, what was not measured but assumed, and where figures come from. @param {{plan: GroupPlan}} props */
function Assumed({ plan: { now, wanted, density, leni, uncounted } }) {
  if (!now) return null;
  return html`<details><summary>${say('desk.what-is-assumed-and-where')}</summary><div class="stack">
    <p>${say(wanted.code, wanted)}</p>
    ${density && html`<p>${say('plan.density', density)}</p>`}
    ${leni && html`<p>${say('plan.leni', leni)}</p>`}
    ${now.assumed && now.assumed.length > 0 && html`<p>${say('desk.assumed', { what: now.assumed })}</p>`}
    ${uncounted.length > 0 && html`<p>${say('desk.uncounted', { what: uncounted })}</p>`}
    <ul>${(now.sources ?? []).map((each) => html`<li class="muted small">${say('desk.source-known-and-edition', { source: each.source, how_known: each.how_known, edition: each.edition })}</li>`)}</ul>
  </div></details>`;
}

/** What a trial of a tight arrangement left open, or undefined. @param {GroupPlan} plan @param {string | undefined} arrangement */
const trialOf = (plan, arrangement) =>
  plan.feasible
    .find((each) => each.arrangement === arrangement)
    ?.checks.find(({ check }) => check === 'fit-trial' || check === 'fit-accepted');

/** Whether an arrangement fits by the lamp alone, and too little of the kind was read to release it so. @param {GroupPlan} plan @param {string | undefined} arrangement */
function wantsWitness(plan, arrangement) {
  const { fit } = plan.feasible.find((each) => each.arrangement === arrangement) ?? {};
  return isByLamp(fit) && !fit?.trial?.tried && plan.read_of_kind?.is_enough === false;
}

/** To order bars that fit by the lamp alone. @param {{plan: GroupPlan, arrangement: string | undefined, accepts: boolean | undefined, onChange: (change: Decided) => void}} props */
function AcceptLamp({ plan, arrangement, accepts, onChange }) {
  if (!wantsWitness(plan, arrangement)) return null;
  return html`<div class="field">
    <p>${say('plan.blocked.by-lamp', { fixtures: plan.read_of_kind?.fixtures, wanted: LEAST_FIXTURES })}</p>
    <label class="chip"><input type="checkbox" checked=${accepts ?? false}
      onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ accepts_lamp: event.currentTarget.checked })} /><span>${say('desk.accept-the-lamp-as-the')}</span></label>
  </div>`;
}

/** To order tight bars on what a trial says. @param {{trial: CheckTold | undefined, accepts: boolean | undefined, onChange: (change: Decided) => void}} props */
function AcceptTrial({ trial, accepts, onChange }) {
  if (!trial) return null;
  return html`<div class="field">
    <p>${say(trial.code, trial.facts)}</p>
    <label class="chip"><input type="checkbox" checked=${accepts ?? false}
      onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ accepts_trial: event.currentTarget.checked })} /><span>${say('desk.accept-the-trial-bar')}</span></label>
  </div>`;
}

/** LED tubes come out while they may still be good: a manager says so, with a reason. @param {{plan: GroupPlan, accepts: boolean | undefined, onChange: (change: Decided) => void}} props */
function AcceptLedTubes({ plan, accepts, onChange }) {
  const asked = plan.blockers.some(({ code }) => code === 'plan.blocked.led-tubes');
  if (!asked && !accepts) return null;
  return html`<div class="field">
    <label class="chip"><input type="checkbox" checked=${accepts ?? false}
      onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange({ accepts_led_tubes: event.currentTarget.checked })} /><span>${say('world.convert-led-tubes')}</span></label>
    <p class="muted">${say('world.convert-led-tubes-help')}</p>
  </div>`;
}

/** @param {{site: Site, group: string, plan: GroupPlan}} props */
function Decide({ site, group, plan }) {
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const [value, setValue] = useState(/** @type {Decided} */ ({}));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  // On a browser that is new here the server tells of a group before it has arrived: it is decided on when it has.
  const here = useLive(async () => (await site.get(group)) !== undefined, [group]);
  useEffect(() => {
    if (!here) return;
    site.form(group, 'decision').then((opened) => {
      setForm(opened);
      setValue({
        decision: site.spec.records.group.facets.decision.fields.decision.choices[0],
        ...opened.value,
      });
    });
  }, [group, here]);
  if (!form) return null;
  /** @param {Decided} change */
  const change = (change) => setValue({ ...value, ...change });
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const { decision, arrangement = plan.feasible[0]?.arrangement, reason } = value;
    const accepts = decision === WITH_THIS && value.accepts_trial && trialOf(plan, arrangement);
    const acceptsLamp = decision === WITH_THIS && value.accepts_lamp && wantsWitness(plan, arrangement);
    if (NOT_CONVERTED.has(decision ?? '') && !reason?.trim())
      return setError({ code: 'site-order.needs-reason', facts: {} });
    const tubes = decision?.startsWith('convert') && value.accepts_led_tubes === true;
    if (tubes && !reason?.trim()) return setError({ code: 'world.led-tubes-need-reason', facts: {} });
    if (accepts && !reason?.trim()) return setError({ code: 'desk.accept-needs-reason', facts: {} });
    if (acceptsLamp && !reason?.trim()) return setError({ code: 'desk.accept-lamp-needs-reason', facts: {} });
    const decided = {
      decision,
      ...(decision === WITH_THIS && arrangement && { arrangement }),
      ...(reason?.trim() && { reason: reason.trim() }),
      ...(accepts && { accepts_trial: true }),
      ...(acceptsLamp && { accepts_lamp: true }),
      ...(tubes && { accepts_led_tubes: true }),
    };
    setError(null);
    try {
      await site.save([/** @type {Draft} */ ({ ...form, value: decided })]);
      // The server plans with what it has: the plan is asked for again when the decision is there.
      await store.syncNow();
    } catch (refused) {
      setError(refused);
    }
  };
  const { choices } = site.spec.records.group.facets.decision.fields.decision;
  return html`<form class="card" onSubmit=${save} aria-label=${say('desk.decision')}>
    <div class="field"><label for=${`decision-${group}`}>${say('desk.decision')}</label>
      <select id=${`decision-${group}`} value=${value.decision} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => change({ decision: event.currentTarget.value })}>
        ${choices.map((/** @type {string} */ choice) => html`<option value=${choice} selected=${choice === value.decision}>${choiceText(choice)}</option>`)}
      </select></div>
    ${
      value.decision === WITH_THIS &&
      html`<div class="field"><label for=${`with-${group}`}>${say('desk.arrangement')}</label>
      <select id=${`with-${group}`} value=${value.arrangement} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => change({ arrangement: event.currentTarget.value })}>
        ${plan.feasible.map((each) => html`<option value=${each.arrangement} selected=${each.arrangement === value.arrangement}>${arrangementText(each.arrangement)}</option>`)}
      </select></div>`
    }
    ${value.decision === WITH_THIS && html`<${AcceptTrial} trial=${trialOf(plan, value.arrangement ?? plan.feasible[0]?.arrangement)} accepts=${value.accepts_trial} onChange=${change} />`}
    ${value.decision === WITH_THIS && html`<${AcceptLamp} plan=${plan} arrangement=${value.arrangement ?? plan.feasible[0]?.arrangement} accepts=${value.accepts_lamp} onChange=${change} />`}
    ${value.decision?.startsWith('convert') && html`<${AcceptLedTubes} plan=${plan} accepts=${value.accepts_led_tubes} onChange=${change} />`}
    <div class="field"><label for=${`reason-${group}`}>${say('page.reason')}</label>
      <input id=${`reason-${group}`} value=${value.reason ?? ''} maxlength="300" autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => change({ reason: event.currentTarget.value })} /></div>
    <${Problem} error=${error} />
    <button class="button main">${say('desk.save-the-decision')}</button>
  </form>`;
}
