// What will each group become, what does it come to, and what goes into the next release?

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { Changes } from '../crew/standing_notice.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Mark, Problem } from '../parts/parts.js';
import { counted, say } from '../words.js';
import { Decision } from './decision.js';
import { Answer, amount, Desk, number, SiteValues, Table, useServer } from './parts.js';
import { Sensitivity } from './sensitivity.js';

/** @param {{site: Site}} props */
export function Plan({ site }) {
  const [turn, setTurn] = useState(0);
  const money = useLive(() => site.all('money'), [site.id]);
  const releases = useLive(() => site.all('release'), [site.id]);
  const answer = useServer(`/api/sites/${site.id}/plan`, [turn]);
  const currency = money?.[0]?.facets.identity?.currency ?? '';
  const decides = site.spec.records.group.facets.decision.write.includes(site.role);
  return html`<${Desk} site=${site} at="/plan" title="Conversions">
    <${Answer} answer=${answer}>${(/** @type {SitePlan} */ told) => html`
      ${told.catalogue && html`<p class="muted">${say('catalogue.of-plan', { name: told.catalogue })}</p>`}
      ${decides && html`<${Release} site=${site} floors=${told.floors} releases=${releases ?? []} onReleased=${() => setTurn(turn + 1)} />`}
      <${Totals} site=${site} totals=${told.totals} currency=${currency} />
      <${Groups} site=${site} told=${told} currency=${currency} decides=${decides} onDecided=${() => setTurn(turn + 1)} />`}
    <//>
  <//>`;
}

/** @param {{site: Site, floors: FloorOfPlan[], releases: RecordView<'release'>[], onReleased: () => void}} props */
function Release({ site, floors, releases, onReleased }) {
  const [note, setNote] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [made, setMade] = useState(/** @type {ReleaseMade | null} */ (null));
  const [busy, setBusy] = useState(false);
  const ready = sumOf(floors, 'ready');
  const release = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setBusy(true);
    setError(null);
    try {
      setMade(
        /** @type {ReleaseMade} */ (
          await askServer(`/api/sites/${site.id}/releases`, { method: 'POST', body: { note } })
        ),
      );
      await store.syncNow();
      onReleased();
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return html`<section class="card" aria-label="Release">
    <p class="strong">${say('desk.ready', { ready, groups: sumOf(floors, 'groups') })}</p>
    <p class="muted">${say('desk.release-help')}</p>
    <form class="release" onSubmit=${release}>
      <div class="field"><label for="note">Note</label>
        <input id="note" value=${note} maxlength="200" autocomplete="off" onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setNote(event.currentTarget.value)} /></div>
      <button class="button main" disabled=${busy || !ready}>Release</button>
    </form>
    <${Problem} error=${error} />
    ${made && html`<p role="status" class="strong">${say('desk.released', { number: made.number, released: counted(made.released.length, 'group'), left_out: counted(made.left_out.length, 'group') })}</p>`}
    ${
      made &&
      made.out.length > 0 &&
      html`<div class="notice stack"><p class="strong">${say('desk.released-out', { groups: counted(made.out.length, 'group') })}</p>
      <ul class="rows">${made.out.map((each) => html`<li class="row-text" key=${each.group}><span class="strong">${each.room_name} · ${each.mark} <${Mark} look="attention">${each.standing}<//></span><${Changes} site=${site} changes=${each.changes} /></li>`)}</ul></div>`
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
    ${releases.length > 0 && html`<a class="button" href=${`/s/${site.id}/desk/releases`}>Releases so far: ${releases.length}</a>`}
  </section>`;
}

/** Spares for breakage, and for misfits beside them. @param {{spare: number, for_misfits: number}} item */
const spareText = ({ spare, for_misfits: misfits }) =>
  misfits ? `${number(spare)} + ${number(misfits)}` : number(spare);

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

/** @param {{site: Site, totals: PlanTotals, currency: string}} props */
function Totals({ site, totals, currency }) {
  const { energy, money, waste } = totals;
  const sums = [
    ['Energy now', `${number(energy.kwh_now)} kWh a year`],
    ['Energy then', `${number(energy.kwh_then)} kWh a year`],
    ['Load saved', `${number(energy.kw_saved, 1)} kW`],
    ['Emission saved', `${number(energy.emission_saved_kg)} kg CO₂e a year`],
    ['Cost', amount(money.cost, currency)],
    ['Rebate', amount(money.rebate, currency)],
    ['Saving', `${amount(money.saving_year, currency)} a year`],
    ['Net present value', amount(money.npv, currency)],
    ['Labour', totals.minutes === null ? '–' : `${number(totals.minutes / 60)} h`],
  ];
  const removed = [
    ...Object.entries(waste.lamps).map(([lamp, count]) => [`Lamps ${lamp}`, number(count)]),
    ...Object.entries(waste.ballasts).map(([kind, count]) => [`Ballasts, PCB ${kind}`, number(count)]),
    ...Object.entries(waste.batteries).map(([battery, count]) => [
      `Emergency batteries, ${battery}`,
      number(count),
    ]),
  ];
  return html`<section class="stack" aria-label="All ready groups together">
    <h2>All ready groups together: ${counted(totals.groups, 'group')}, ${counted(totals.fixtures, 'fixture')}</h2>
    <div class="tables">
      <${Table} caption="What it comes to" numbers=${[1]} heads=${['Sum', 'Amount']} rows=${sums} />
      <${Table} caption="Would be ordered" numbers=${[1, 2, 3]} heads=${['Item', 'Fitted', 'Spare', 'Order']}
        rows=${totals.quantities.map((each) => [each.code, number(each.fitted), spareText(each), number(each.order)])} />
      <${Table} caption="To take away" numbers=${[1]} heads=${['What', 'Count']} rows=${removed} />
    </div>
    <${Misfits} totals=${totals} />
    <a class="button" href=${`/api/sites/${site.id}/quantities.csv`} download>Plan quantities, as a table (CSV); no order yet</a>
    <${SiteValues} values=${totals.site_values} />
    <${Sensitivity} swings=${money.sensitivity} currency=${currency} about="All ready groups" />
    <p class="caution" role="note">${say('desk.waste-caution')}</p>
  </section>`;
}

/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOK = { ready: 'done', 'nothing passes': 'attention' };

/** @param {FloorOfPlan[]} floors @param {'groups' | 'ready'} what */
const sumOf = (floors, what) => floors.reduce((sum, floor) => sum + floor[what], 0);

/**
 * Floors, the first one open. The groups of a large site are asked for when a floor is opened.
 *
 * @param {{site: Site, told: SitePlan, currency: string, decides: boolean, onDecided: () => void}} props
 */
function Groups({ site, told, currency, decides, onDecided }) {
  const shown = (/** @type {GroupInShort[]} */ groups) =>
    html`<div class="stack">${groups.map(
      (group) =>
        html`<${Group} key=${group.group} site=${site} group=${group} currency=${currency} decides=${decides} onDecided=${onDecided} />`,
    )}</div>`;
  return html`<h2>Group by group</h2>
    ${told.floors.map(
      (
        floor,
        /** @type {number} */ place,
      ) => html`<${Floor} key=${floor.floor} floor=${floor} first=${place === 0} folded=${told.next !== null}>${() =>
        told.next === null
          ? shown(told.groups.filter((group) => group.floor === floor.floor))
          : html`<${Pages} site=${site} floor=${floor} told=${told}>${shown}<//>`}
    <//>`,
    )}`;
}

/** @param {{floor: FloorOfPlan, first: boolean, folded: boolean, children: () => Child}} props `folded`: nothing is in it until it is opened */
function Floor({ floor, first, folded, children }) {
  const [opened, setOpened] = useState(first);
  return html`<details class="points" open=${opened} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${floor.floor_name}: ${counted(floor.groups, 'group')}, ${floor.ready} ready</summary>
    ${(opened || !folded) && children()}
  </details>`;
}

/** Groups of a floor, a page at a time; all pages in view are asked for again when the plan has changed. @param {{site: Site, floor: FloorOfPlan, told: SitePlan, children: (groups: GroupInShort[]) => Child}} props */
function Pages({ site, floor, told, children }) {
  const [pages, setPages] = useState(1);
  const [held, setHeld] = useState(
    /** @type {{groups: GroupInShort[], error: unknown}} */ ({ groups: [], error: null }),
  );
  useEffect(() => {
    const gone = new AbortController();
    pagesOf(`/api/sites/${site.id}/plan/groups?floor=${floor.floor ?? 'none'}`, pages, gone.signal).then(
      (groups) => setHeld({ groups, error: null }),
      (error) => gone.signal.aborted || setHeld((before) => ({ ...before, error })),
    );
    return () => gone.abort();
  }, [site.id, floor.floor, pages, told]);
  const left = floor.groups - held.groups.length;
  return html`<div class="stack">
    <${Problem} error=${held.error} />
    ${held.groups.length === 0 && !held.error && html`<p role="status">Asking the server…</p>`}
    ${children(held.groups)}
    ${held.groups.length > 0 && left > 0 && html`<button type="button" class="button" onClick=${() => setPages(pages + 1)}>Show more (${left} left)</button>`}
  </div>`;
}

/** @param {string} path @param {number} most @param {AbortSignal} signal @returns {Promise<GroupInShort[]>} groups of so many pages */
async function pagesOf(path, most, signal) {
  /** @type {GroupInShort[]} */
  const groups = [];
  for (let page = 0, from = /** @type {number | null} */ (0); page < most && from !== null; page++) {
    /** @type {GroupsOfPlan} */
    const told = await askServer(`${path}&from=${from}`, { signal });
    groups.push(...told.groups);
    from = told.next;
  }
  return groups;
}

/** @param {{site: Site, group: GroupInShort, currency: string, decides: boolean, onDecided: () => void}} props */
function Group({ site, group, currency, decides, onDecided }) {
  const [opened, setOpened] = useState(false);
  const figures = [
    group.watts_then !== undefined && `${number(group.watts_now)} → ${number(group.watts_then)} W`,
    group.share_of_today_pct !== undefined && `${number(group.share_of_today_pct)} % of today's light`,
    group.cost !== undefined && amount(group.cost, currency),
    group.simple_payback_years !== undefined && `pays back in ${number(group.simple_payback_years, 1)} years`,
  ].filter(Boolean);
  return html`<details class="card group" onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>
      <span class="strong">${group.room_name} · ${group.mark} × ${group.fixtures}</span> <${Mark} look=${LOOK[group.state] ?? 'attention'}>${group.state}<//>
      ${group.arrangement && html`<span class="detail">${group.arrangement}</span>`}
      ${figures.length > 0 && html`<span class="detail measure">${figures.join(' · ')}</span>`}
      ${group.site_values.length > 0 && html`<span class="detail">${say('figures.rests-on', { figures: counted(group.site_values.length, 'figure') })}</span>`}
      ${group.blockers.map(({ code, facts }) => html`<span class="detail">${say(code, facts)}</span>`)}
    </summary>
    ${opened && html`<${Decision} site=${site} group=${group.group} currency=${currency} decides=${decides} onDecided=${onDecided} />`}
  </details>`;
}
