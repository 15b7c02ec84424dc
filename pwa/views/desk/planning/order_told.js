// How far the search is, and what it would change: sums beside today's, items, and group by group.

import { html } from '../../html.js';
import { useIntoView } from '../../into_view.js';
import { choiceText, counted, say } from '../../words.js';
import { amount, number, Table } from '../parts.js';

const SHOWN = 100;
const NOT_CONVERTED = new Set(['leave-as-is', 'defer']);

/** @param {{step: OrderStep, currency: string, onStop: () => void}} props */
export function Progress({ step, currency, onStop }) {
  const card = useIntoView();
  const found = step.saved !== undefined;
  const lines = [
    step.step === 'gather' && say('site-order.gathering', { done: number(step.done), of: number(step.of) }),
    found &&
      (step.saved === null
        ? say('site-order.so-far-none')
        : say('site-order.so-far', { saved: money(step.saved ?? 0, currency), items: number(step.items) })),
    found && gapText(step, currency),
    step.seconds !== undefined && say('site-order.since', { seconds: number(step.seconds) }),
  ].filter(Boolean);
  // Its own element while groups are counted: emptied of its number it would stand at nought for the rest of the search.
  return html`<section class="card" ref=${card} aria-label=${say('site-order.working')}>
    <p class="strong">${say('site-order.working')}</p>
    <progress key=${step.step === 'gather'} aria-label=${say('site-order.working')} max=${step.of} value=${step.done}></progress>
    <div role="status" class="stack">${lines.map((line) => html`<p>${line}</p>`)}</div>
    <button type="button" class="button" onClick=${onStop}>${say('site-order.stop')}</button>
  </section>`;
}

/** To the cent: gains are small beside the job. @param {number} value @param {string} currency */
const money = (value, currency) => `${currency} ${number(value, 2)}`;

/** @param {{gap?: number | null, proved?: boolean}} of @param {string} currency */
function gapText({ gap, proved }, currency) {
  if (proved) return say('site-order.proved');
  return gap === null || gap === undefined
    ? say('site-order.gap-unknown')
    : say('site-order.gap', { gap: money(gap, currency) });
}

/** @param {OrderDifference} told */
function savedText({ saved, currency, changes, each_item: each }) {
  const groups = counted(changes.length, 'group');
  if (saved === null) return say('site-order.money-unknown', { groups });
  if (saved === 0) return say('site-order.same-money', { groups });
  if (saved > 0)
    return say(each ? 'site-order.saves-counted' : 'site-order.saves', {
      saved: money(saved, currency),
      groups,
    });
  return say(each ? 'site-order.costs-counted' : 'site-order.costs', {
    more: money(-saved, currency),
    groups,
  });
}

/** What of it is no money of the job: what fewer different items save beside their prices. @param {OrderDifference} told */
function ofItems({ each_item: each, today, best, currency }) {
  const fewer = today.items - best.items;
  if (!each || !fewer) return null;
  const sum = money(Math.abs(each * fewer), currency);
  return html`<p>${fewer > 0 ? say('site-order.of-items', { sum, fewer }) : say('site-order.of-more-items', { sum, more: -fewer })}</p>`;
}

/** @param {{told: OrderDifference}} props */
export function OrderTold({ told }) {
  if (told.found === false)
    return html`<p class="notice strong" role="status">${say('site-order.not-found')}</p>`;
  return html`<h2>${say('site-order.would-change')}</h2>
    <p class="strong" role="status">${told.changes.length ? savedText(told) : say('site-order.nothing-to-change')}</p>
    ${ofItems(told)}
    ${told.proved !== undefined && html`<p>${gapText(told, told.currency)}</p>`}
    ${told.today_keeps === false && html`<p>${say('site-order.today-breaks')}</p>`}
    <${Fixed} fixed=${told.fixed} />
    ${told.stuck?.length ? html`<p>${say('site-order.stuck', { groups: counted(told.stuck.length, 'group'), which: told.stuck })}</p>` : null}
    ${told.changes.length > 0 && html`<${Sums} told=${told} /><${Items} told=${told} /><${Changes} told=${told} />`}`;
}

/** How many groups are left alone, and why. @param {{fixed: Record<string, number>}} props */
function Fixed({ fixed }) {
  const which = Object.entries(fixed).map(([why, number]) =>
    say(`site-order.fixed-${why}`, { groups: counted(number, 'group') }),
  );
  return which.length > 0 ? html`<p>${say('site-order.fixed', { which })}</p>` : null;
}

/** @param {{told: OrderDifference}} props */
function Sums({ told: { today, best, currency } }) {
  /** @type {Array<[string, (sums: OrderSums) => Child]>} */
  const lines = [
    ['ready', ({ groups }) => number(groups)],
    ['cost', ({ cost }) => amount(cost, currency)],
    ['rebate', ({ rebate }) => amount(rebate, currency)],
    ['order-sum', ({ order_sum: sum }) => amount(sum, currency)],
    ['different-items', ({ items }) => number(items)],
    ['platform-days', ({ days }) => number(days)],
    ['labour', ({ minutes }) => number(minutes === null ? null : minutes / 60, 1)],
    ['kwh-saved', ({ kwh_saved: kwh }) => number(kwh)],
    ['npv', ({ npv }) => amount(npv, currency)],
    ['lcc', ({ lcc }) => amount(lcc, currency)],
  ];
  if (today.left_lcc || best.left_lcc)
    lines.push(['left-lcc', ({ left_lcc: left }) => amount(left, currency)]);
  return html`<${Table} stacks caption=${say('site-order.the-job')} numbers=${[1, 2]}
    heads=${['head', 'today', 'then'].map((word) => say(`site-order.${word}`))}
    rows=${lines.map(([word, of]) => [say(`site-order.${word}`), of(today), of(best)])} />`;
}

/** @param {{told: OrderDifference}} props */
function Items({ told: { items } }) {
  if (items.length === 0) return null;
  return html`<${Table} caption=${say('site-order.items-changed')} numbers=${[1, 2]}
    heads=${['item', 'today', 'then'].map((word) => say(`site-order.${word}`))}
    rows=${items.map(({ code, today, best }) => [code, number(today), number(best)])} />`;
}

/** What a group is, or becomes. @param {string | null} arrangement @param {string} state */
const become = (arrangement, state) =>
  state === 'ready'
    ? arrangement
    : arrangement && state === 'open'
      ? `${arrangement} (${choiceText(state)})`
      : choiceText(state);

/** @param {{told: OrderDifference}} props */
function Changes({ told: { changes } }) {
  const rows = changes.slice(0, SHOWN).map((each) => [
    `${each.room_name} · ${each.mark} × ${each.fixtures}`,
    become(each.today, each.today_state),
    become(each.best, each.best_state),
    each.light_best_pct === null || each.light_today_pct === null || NOT_CONVERTED.has(each.decision)
      ? '–'
      : say('site-order.light-from-to', {
          today: number(each.light_today_pct),
          after: number(each.light_best_pct),
        }),
  ]);
  return html`<${Table} stacks caption=${say('site-order.groups-changed')} heads=${['group', 'today', 'then', 'light'].map((word) => say(`site-order.${word}`))} rows=${rows} />
    ${changes.length > SHOWN && html`<p class="muted">${say('page.show-more-left', { left: changes.length - SHOWN })}</p>`}`;
}
