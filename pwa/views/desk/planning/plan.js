// What will each group become, what does it come to, and what goes into the next release?

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { arrangementText } from '../../coded_text.js';
import { Changes } from '../../crew/standing_notice.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { mayWrite } from '../../record_screens.js';
import { useMedia, WIDE } from '../../parts/bar.js';
import { Mark, Problem } from '../../parts/parts.js';
import { lacksTemperature, WhereTemperatures } from '../../parts/temperatures.js';
import { useTimesSent } from '../../parts/when_heard.js';
import { choiceText, counted, say } from '../../words.js';
import { Fold } from '../fold.js';
import { FromMemory, figuresNamed, MixedLooks } from '../from_memory.js';
import { JobMoneyTables } from '../money/job_money.js';
import { Life } from '../money/life.js';
import { Sensitivity } from '../money/sensitivity.js';
import { Answer, amount, Desk, number, SiteValues, Table, useServer, Window } from '../parts.js';
import { Decision } from './decision.js';
import { doesNotPay, GroupDoesNotPay, NotPaying } from './not_paying.js';

/** So many groups are in the page at once; of a site with more, one floor is open at a time. */
const GROUPS_AT_ONCE = 100;

/** @param {{site: Site}} props */
export function Plan({ site }) {
  const [turn, setTurn] = useState(0);
  const money = useLive(() => site.all('money'), [site.id]);
  const releases = useLive(() => site.all('release'), [site.id]);
  const sent = useTimesSent(site);
  const answer = useServer(`/api/sites/${site.id}/plan`, [turn, sent]);
  const currency = money?.[0]?.facets.identity?.currency ?? '';
  const decides = mayWrite(site, 'group', 'decision');
  return html`<${Desk} site=${site} at="/plan" title=${say('desk.conversions')}>
    <${Answer} answer=${answer}>${(/** @type {SitePlan} */ told) =>
      sumOf(told.floors, 'groups') === 0
        ? html`<p class="notice">${say('plan.no-groups')} <a href=${`/s/${site.id}`}>${say('set-up.rooms')}</a></p>`
        : html`
      ${told.catalogue && html`<p class="muted">${say('catalogue.of-plan', { name: told.catalogue })}</p>`}
      ${decides && html`<${NotPaying} site=${site} turn=${told} />`}
      <${MixedLooks} said=${told.totals.mixed_looks} />
      <${FromMemory} said=${told.totals.from_memory} />
      ${decides && html`<${Release} site=${site} floors=${told.floors} releases=${releases ?? []} remembered=${figuresNamed(told.totals.from_memory)} onReleased=${() => setTurn(turn + 1)} />`}
      ${decides && html`<a class="button" href=${`/s/${site.id}/desk/plan/order`}>${say('site-order.open')}</a>`}
      ${decides && html`<a class="button" href=${`/s/${site.id}/desk/plan/what-if`}>${say('scenarios.open')}</a>`}
      ${
        told.totals.groups > 0
          ? html`<${Totals} site=${site} totals=${told.totals} floors=${told.floors} currency=${currency} />`
          : html`<p class="notice">${say('plan.none-ready')}</p>`
      }
      <${Groups} site=${site} told=${told} currency=${currency} decides=${decides} />`}
    <//>
  <//>`;
}

/** @param {{site: Site, floors: FloorOfPlan[], releases: RecordView<'release'>[], remembered: string[], onReleased: () => void}} props `remembered`: the figures from memory that are listed above */
function Release({ site, floors, releases, remembered, onReleased }) {
  const [note, setNote] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [made, setMade] = useState(/** @type {ReleaseMade | null} */ (null));
  const [busy, setBusy] = useState(false);
  const [seen, setSeen] = useState(/** @type {string | null} */ (null));
  const ready = sumOf(floors, 'ready');
  const list = remembered.join('\n');
  const isSeen = remembered.length === 0 || seen === list;
  const tick = (/** @type {EventOf<HTMLInputElement>} */ event) => {
    setSeen(event.currentTarget.checked ? list : null);
    setError(null);
  };
  const release = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!isSeen) return setError({ code: 'world.from-memory-tick', facts: {} });
    setBusy(true);
    setError(null);
    try {
      setMade(
        /** @type {ReleaseMade} */ (
          await askServer(`/api/sites/${site.id}/releases`, {
            method: 'POST',
            body: { note, from_memory_seen: remembered },
          })
        ),
      );
      await store.syncNow();
      onReleased();
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return html`<section class="card" aria-label=${say('desk.release')}>
    <p class="strong">${readyText(floors)}</p>
    <p class="muted">${say('desk.release-help')}</p>
    <form class="release" onSubmit=${release}>
      <div class="field"><label for="note">${say('desk.note')}</label>
        <input id="note" value=${note} maxlength="200" autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setNote(event.currentTarget.value)} /></div>
      ${
        remembered.length > 0 &&
        html`<label class="check-line"><input type="checkbox" checked=${isSeen} onChange=${tick} /><span>${say('world.from-memory-seen')}</span></label>`
      }
      <button class="button main" disabled=${busy || !ready}>${say('desk.release')}</button>
    </form>
    <${Problem} error=${error} />
    ${made && html`<p role="status" class="strong">${say('desk.released', { number: made.number, released: counted(made.released.length, 'group'), left_out: counted(made.left_out.length, 'group') })}</p>`}
    ${
      made &&
      made.out.length > 0 &&
      html`<div class="notice stack"><p class="strong">${say('desk.released-out', { groups: counted(made.out.length, 'group') })}</p>
      <ul class="rows">${made.out.map((each) => html`<li class="row-text" key=${each.group}><span class="strong">${each.room_name} · ${each.mark} <${Mark} look="attention">${choiceText(each.standing)}<//></span><${Changes} site=${site} changes=${each.changes} /></li>`)}</ul></div>`
    }
    ${
      made &&
      made.done.length > 0 &&
      html`<p>${say('desk.released-done', {
        groups: counted(made.done.length, 'group'),
        fixtures: counted(
          made.done.reduce((sum, { positions }) => sum + positions.length, 0),
          'fixture',
        ),
      })}</p>`
    }
    ${releases.length > 0 && html`<a class="button" href=${`/s/${site.id}/desk/releases`}>${say('desk.releases-so-far', { releases: releases.length })}</a>`}
  </section>`;
}

/** Spares for breakage, and for misfits beside them. @param {{spare: number, for_misfits: number}} item */
const spareText = ({ spare, for_misfits: misfits }) =>
  misfits ? `${number(spare)} + ${number(misfits)}` : number(spare);

/** What has to be bought for it: packs, what is left over of them, the price of that many. @param {{totals: PlanTotals, currency: string}} props */
function Bought({ totals, currency }) {
  if (totals.quantities.length === 0) return null;
  const heads = ['item', 'packs', 'left-over', 'price', 'sum', 'lead-time'];
  const rows = totals.quantities.map((each) => [
    each.code,
    each.pack_size > 1
      ? say('ordering.packs-of', { packs: number(each.packs), pack_size: number(each.pack_size) })
      : number(each.bought),
    each.left_over ? number(each.left_over) : '–',
    number(each.price, 2),
    number(each.sum),
    each.lead_days === null ? '–' : counted(each.lead_days, 'day'),
  ]);
  return html`<div class="stack">
    <${Table} stacks caption=${say('ordering.in-whole-packs')} numbers=${[1, 2, 3, 4, 5]} heads=${heads.map((each) => (each === 'item' ? say('desk.item') : say(`ordering.${each}`)))} rows=${rows} />
    <p class="muted">${totals.order_sum === null ? say('ordering.sum-unknown') : say('ordering.sum-of-all', { sum: amount(totals.order_sum, currency) })}</p>
  </div>`;
}

/** Why shorter bars are ordered beside those fitted. @param {{totals: PlanTotals}} props */
function Misfits({ totals }) {
  const ready = totals.quantities.filter(({ why }) => why);
  const without = totals.without_shorter;
  if (!ready.length && !without) return null;
  return html`<ul class="rows">
    ${ready.map(({ code, for_misfits: n, why }) => html`<li class="row-text"><span class="strong">${n} × ${code}</span><span class="detail">${why && say(why.code, why.facts)}</span></li>`)}
    ${without && html`<li class="row-text"><span class="detail">${say(without.code, without.facts)}</span></li>`}
  </ul>`;
}

/** What the meter saves and heating takes, where it is not what the lights alone save. @param {PlanTotals['energy']} energy */
function savedBesides({ kwh_now: now, kwh_then: then, kwh_saved: saved, heating_kwh: fuel }) {
  const differs = saved != null && now !== null && then !== null && Math.abs(now - then - saved) >= 1;
  return [
    ...(differs ? [[say('desk.kwh-saved'), say('desk.kwh-a-year', { kwh: number(saved) })]] : []),
    ...(fuel ? [[say('desk.heating-more'), say('desk.kwh-a-year', { kwh: number(fuel) })]] : []),
  ];
}

/** @param {JobMoney} money @param {string} currency */
function upkeepOf({ life }, currency) {
  if (!life?.terms.upkeep_year) return [];
  return [
    [say('desk.upkeep-saved'), say('desk.a-year', { saving_year: amount(life.terms.upkeep_year, currency) })],
  ];
}

/** @param {{site: Site, totals: PlanTotals, floors: FloorOfPlan[], currency: string}} props */
function Totals({ site, totals, floors, currency }) {
  const { energy, money, waste } = totals;
  const sums = [
    [say('desk.energy-now'), say('desk.kwh-now-a-year', { kwh_now: number(energy.kwh_now) })],
    [say('desk.energy-then'), say('desk.kwh-then-a-year', { kwh_then: number(energy.kwh_then) })],
    ...savedBesides(energy),
    [say('desk.load-saved'), `${number(energy.kw_saved, 1)} kW`],
    [
      say('desk.emission-saved'),
      say('desk.kg-co-e-a-year', { emission_saved_kg: number(energy.emission_saved_kg) }),
    ],
    [say('desk.cost-title'), amount(money.cost, currency)],
    [say('desk.rebate'), amount(money.rebate, currency)],
    [say('desk.saving'), say('desk.a-year', { saving_year: amount(money.saving_year, currency) })],
    ...upkeepOf(money, currency),
    [say('desk.net-present-value'), amount(money.npv, currency)],
    [say('desk.labour'), totals.minutes === null ? '–' : `${number(totals.minutes / 60)} h`],
  ];
  const removed = [
    ...Object.entries(waste.lamps).map(([lamp, count]) => [say('desk.lamps', { lamp }), number(count)]),
    ...Object.entries(waste.lamp_classes ?? {}).map(([each, count]) => [
      say(`world.class-${each}`),
      number(count),
    ]),
    ...(waste.starters ? [[say('world.starters'), number(waste.starters)]] : []),
    ...Object.entries(waste.ballasts).map(([kind, count]) => [
      say('desk.ballasts-pcb', { kind }),
      number(count),
    ]),
    ...Object.entries(waste.batteries).map(([battery, count]) => [
      say('desk.emergency-batteries', { battery }),
      number(count),
    ]),
  ];
  return html`<section class="stack" aria-label=${say('desk.all-ready-groups-together')}>
    <h2>${say('desk.all-ready-groups-with-counts', { groups: counted(totals.groups, 'group'), fixtures: counted(totals.fixtures, 'fixture') })}</h2>
    <div class="tables">
      <${Table} caption=${say('desk.what-it-comes-to')} numbers=${[1]} heads=${[say('desk.sum'), say('desk.amount')]} rows=${sums} />
      <${Fold} title=${say('desk.would-be-ordered')}><${Table} caption=${say('desk.would-be-ordered')} numbers=${[1, 2, 3]} heads=${[say('desk.item'), say('desk.fitted'), say('desk.spare'), say('desk.order')]}
        rows=${totals.quantities.map((each) => [each.code, number(each.fitted), spareText(each), number(each.order)])} /><//>
      <${Fold} title=${say('desk.to-take-away')}><${Table} caption=${say('desk.to-take-away')} numbers=${[1]} heads=${[say('desk.what'), say('desk.count')]} rows=${removed} /><//>
    </div>
    <${Fold} title=${say('desk.money-of-the-job')}><${JobMoneyTables} money=${money} floors=${floors} currency=${currency} />
    <${Life} life=${money.life} currency=${currency} /><//>
    <${Fold} title=${say('desk.packs-and-spares')}><${Misfits} totals=${totals} />
    <${Bought} totals=${totals} currency=${currency} /><//>
    <a class="button" href=${`/api/sites/${site.id}/quantities.csv`} download>${say('desk.plan-quantities-as-a-table')}</a>
    <${SiteValues} values=${totals.site_values} />
    <${Sensitivity} swings=${money.sensitivity} currency=${currency} about=${say('desk.all-ready-groups')} />
    <p class="caution" role="note">${say('desk.waste-caution')}</p>
  </section>`;
}

/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOK = { ready: 'done', 'left as it is': '', deferred: '', 'nothing passes': 'attention' };

/** How many groups are ready, and how many of these are released already. @param {FloorOfPlan[]} floors */
function readyText(floors) {
  const [groups, ready, released] = /** @type {const} */ (['groups', 'ready', 'released']).map((what) =>
    sumOf(floors, what),
  );
  const code =
    released === 0 ? 'desk.ready' : released < ready ? 'desk.ready-and-released' : 'desk.all-released';
  return say(code, { groups, ready, released, left: ready - released });
}

/** @param {FloorOfPlan[]} floors @param {'groups' | 'ready' | 'released'} what */
const sumOf = (floors, what) => floors.reduce((sum, floor) => sum + floor[what], 0);

/**
 * Floors, the first one open at a desk, or where it is the only one. The groups of a large site are asked for when a floor is opened.
 *
 * @param {{site: Site, told: SitePlan, currency: string, decides: boolean}} props
 */
function Groups({ site, told, currency, decides }) {
  const shown = (/** @type {GroupInShort[]} */ groups) =>
    html`<div class="stack">${groups.map(
      (group) =>
        html`<${Group} key=${group.group} site=${site} group=${group} currency=${currency} decides=${decides} />`,
    )}</div>`;
  const isLarge = sumOf(told.floors, 'groups') > GROUPS_AT_ONCE;
  const wide = useMedia(WIDE);
  return html`<h2>${say('desk.group-by-group')}</h2>
    ${told.floors.map(
      (
        floor,
        /** @type {number} */ place,
      ) => html`<${Floor} key=${floor.floor} floor=${floor} first=${place === 0 && (wide || told.floors.length === 1)} folded=${isLarge}>${() =>
        isLarge
          ? html`<${Pages} site=${site} floor=${floor} told=${told}>${shown}<//>`
          : shown(told.groups.filter((group) => group.floor === floor.floor))}
    <//>`,
    )}`;
}

/** @param {{floor: FloorOfPlan, first: boolean, folded: boolean, children: () => Child}} props `folded`: nothing is in it until it is opened */
function Floor({ floor, first, folded, children }) {
  const [opened, setOpened] = useState(first);
  return html`<details class="points fold" name=${folded ? 'floors' : undefined} open=${opened} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${say(floor.released ? 'desk.floor-and-released' : 'desk.floor-and-ready', { floor_name: floor.floor_name, groups: counted(floor.groups, 'group'), ready: floor.ready, released: floor.released })}</summary>
    ${(opened || !folded) && children()}
  </details>`;
}

/** Groups of a floor, so many at once; they are asked for again when the plan has changed. @param {{site: Site, floor: FloorOfPlan, told: SitePlan, children: (groups: GroupInShort[]) => Child}} props */
function Pages({ site, floor, told, children }) {
  const [from, setFrom] = useState(0);
  const answer = /** @type {import('../parts.js').Answered<GroupsOfPlan>} */ (
    useServer(`/api/sites/${site.id}/plan/groups?floor=${floor.floor ?? 'none'}&from=${from}`, [told])
  );
  return html`<div class="stack"><${Answer} answer=${answer}>${(/** @type {GroupsOfPlan} */ page) => html`
    ${children(page.groups.slice(0, GROUPS_AT_ONCE))}
    <${Window} total=${floor.groups} from=${(page.next ?? floor.groups) - page.groups.length} size=${GROUPS_AT_ONCE} onFrom=${setFrom} />`}<//></div>`;
}

/** Light against today's; against both of today's where lamps are dark. @param {GroupInShort} group */
function shareOfToday({ share_of_today_pct, share_of_all_burning_pct }) {
  const told = {
    share_of_today_pct: number(share_of_today_pct),
    share_of_all_burning_pct: number(share_of_all_burning_pct),
  };
  const isOne = told.share_of_today_pct === told.share_of_all_burning_pct;
  return say(isOne ? 'desk.share-of-todays-light' : 'desk.share-of-todays-lights', told);
}

/** @param {{site: Site, group: GroupInShort, currency: string, decides: boolean}} props */
function Group({ site, group, currency, decides }) {
  const [opened, setOpened] = useState(false);
  const figures = [
    group.watts_then !== undefined && `${number(group.watts_now)} → ${number(group.watts_then)} W`,
    group.share_of_today_pct !== undefined && shareOfToday(group),
    group.cost != null &&
      (group.cost_share === undefined
        ? amount(group.cost, currency)
        : say('job.by-itself', { cost: amount(group.cost, currency) })),
    group.cost_share !== undefined &&
      say('job.share-of-the-job', { cost: amount(group.cost_share, currency) }),
    group.simple_payback_years != null &&
      say('desk.pays-back-in-years', { simple_payback_years: number(group.simple_payback_years, 1) }),
  ].filter(Boolean);
  // The survey and a check of the driver may lack the same thing: it is said once.
  const heldBy = new Set(group.blockers.map(({ code, facts }) => say(code, facts)));
  return html`<details class="card group" onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>
      <span class="strong">${group.room_name} · ${group.mark} × ${group.fixtures}</span> <${Mark} look=${LOOK[group.state] ?? 'attention'}>${choiceText(group.state)}<//> ${doesNotPay(group) && html`<${Mark}>${say('not-paying.mark')}<//>`}
      ${group.arrangement && html`<span class="detail">${arrangementText(group.arrangement)}</span>`}
      ${figures.length > 0 && html`<span class="detail measure">${figures.join(' · ')}</span>`}
      ${group.site_values.length > 0 && html`<span class="detail">${say('figures.rests-on', { figures: counted(group.site_values.length, 'figure') })}</span>`}
      ${[...heldBy].map((sentence) => html`<span class="detail" key=${sentence}>${sentence}</span>`)}
    </summary>
    ${opened && group.blockers.some(lacksTemperature) && html`<${WhereTemperatures} site=${site} room=${group.room} />`}
    ${opened && html`<${GroupDoesNotPay} group=${group} currency=${currency} />`}
    ${opened && html`<${Decision} site=${site} group=${group.group} currency=${currency} decides=${decides} />`}
  </details>`;
}
