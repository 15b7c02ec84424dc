// What differs between two releases, or between a release and today: by group, by item to order, in money.

import { useState } from 'preact/hooks';
import { Changes } from '../../crew/standing_notice.js';
import { html } from '../../html.js';
import { Mark } from '../../parts/parts.js';
import { mayRead } from '../../record_screens.js';
import { choiceText, counted, say } from '../../words.js';
import { Answer, amount, number, Table, useServer } from '../parts.js';

const TODAY = 'today';
/** @type {Record<string, string>} */
const SUMS = {
  cost: 'desk.sum.cost',
  rebate: 'desk.sum.rebate',
  net_cost: 'desk.sum.net-cost',
  saving_year: 'desk.sum.saving-year',
  npv: 'desk.sum.npv',
  lcc: 'desk.sum.lcc',
};
/** @type {Record<string, string>} */
const FIELDS = {
  fixtures: 'desk.differs.fixtures',
  summary: 'desk.differs.summary',
  arrangement: 'desk.differs.arrangement',
  gone: 'desk.differs.gone',
  setting_ma: 'desk.differs.setting-ma',
};

const IN_SUMMARY = ['arrangement', 'setting_ma'];

/** @param {{site: Site, releases: import('./release_facts.js').Released[]}} props */
export function Differences({ site, releases }) {
  const [newest, before] = releases;
  const [from, setFrom] = useState(String((before ?? newest)?.number));
  const [to, setTo] = useState(before ? String(newest?.number) : TODAY);
  if (!mayRead(site, 'release_sums')) return null;
  const numbers = releases.map(({ number: each }) => String(each));
  return html`<section class="card" aria-label=${say('desk.differences')}>
    <h2>${say('desk.differences')}</h2>
    <div class="side-by-side">
      <${Choice} label=${say('desk.from')} value=${from} numbers=${numbers} onChoose=${setFrom} />
      <${Choice} label=${say('desk.to')} value=${to} numbers=${[TODAY, ...numbers]} onChoose=${setTo} />
    </div>
    ${to === TODAY && html`<p class="muted">${say('desk.differences-today')}</p>`}
    <${Told} key=${`${from} ${to}`} site=${site} from=${from} to=${to} newest=${newest?.id ?? ''} />
  </section>`;
}

/** @param {{label: string, value: string, numbers: string[], onChoose: (value: string) => void}} props */
function Choice({ label, value, numbers, onChoose }) {
  const id = `differences-${label}`;
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <select id=${id} value=${value} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChoose(event.currentTarget.value)}>
      ${numbers.map((each) => html`<option key=${each} value=${each}>${each === TODAY ? say('desk.today') : say('page.release', { number: each })}</option>`)}
    </select>
  </div>`;
}

/** @param {{site: Site, from: string, to: string, newest: string}} props */
function Told({ site, from, to, newest }) {
  const answer = useServer(`/api/sites/${site.id}/releases/differences?from=${from}&to=${to}`, [newest]);
  return html`<${Answer} answer=${answer}>${(/** @type {Differences} */ told) => html`<div class="stack">
    ${[...new Set([...told.from.missing, ...told.to.missing])].map((each) => html`<p class="notice">${say('desk.no-sums', { number: each })}</p>`)}
    <p>${say('desk.the-same', { from: told.from.name, groups: counted(told.from.groups, 'group'), fixtures: counted(told.from.fixtures, 'fixture'), to: told.to.name, groups_then: counted(told.to.groups, 'group'), fixtures_then: counted(told.to.fixtures, 'fixture'), same: counted(told.same, 'group') })}</p>
    ${told.groups.length === 0 && told.items.length === 0 && html`<p class="strong">${say('desk.differences-none')}</p>`}
    ${told.groups.length > 0 && html`<${Groups} site=${site} told=${told} />`}
    <div class="tables">
      ${
        told.items.length > 0 &&
        html`<${Table} stacks caption=${say('desk.to-order-with-spares')} numbers=${[1, 2, 3]} heads=${[say('desk.item'), told.from.name, told.to.name, say('desk.more')]}
        rows=${told.items.map((each) => [each.code, number(each.from), number(each.to), signed(each.more)])} />`
      }
      <${Table} stacks caption=${say('desk.money', { currency: told.currency })} numbers=${[1, 2, 3]} heads=${[say('desk.sum'), told.from.name, told.to.name, say('desk.more')]}
        rows=${told.money.filter(({ name }) => SUMS[name]).map((each) => [say(SUMS[each.name]), number(each.from), number(each.to), signed(each.more)])} />
    </div>
  </div>`}<//>`;
}

/** @param {number | null} value */
const signed = (value) => (value !== null && value > 0 ? `+${number(value)}` : number(value));

/** @param {{site: Site, told: Differences}} props */
function Groups({ site, told }) {
  return html`<${Table} caption=${say('desk.group-by-group')} stacks numbers=${[3, 4]} heads=${[say('desk.where'), say('desk.what'), say('desk.differs'), told.from.name, told.to.name]}
    rows=${told.groups.map((each) => [
      `${each.room_name} · ${each.mark}`,
      html`<${Mark} look=${each.what === 'changed' ? '' : 'attention'}>${each.what === 'gone' && told.to.number === null ? say('desk.not-ready') : choiceText(each.what)}<//>`,
      html`<${Fields} site=${site} each=${each} today=${told.to.number === null} />`,
      amount(each.cost_from, told.currency),
      amount(each.cost_to, told.currency),
    ])} />`;
}

/** @param {{site: Site, each: GroupDifference, today: boolean}} props */
function Fields({ site, each, today }) {
  // The summary says the arrangement and the setting in fewer words.
  const told = each.fields.some(({ name }) => name === 'summary');
  const shown = each.fields.filter(({ name }) => !told || !IN_SUMMARY.includes(name));
  return html`<div class="stack">
    ${shown.map((field) => html`<span key=${field.name}>${say(FIELDS[field.name] ?? field.name)}: ${sideText(field.from)} → ${sideText(field.to)}</span>`)}
    ${today && each.changes.length > 0 && each.standing !== 'superseded' && html`<${Changes} site=${site} changes=${each.changes} />`}
  </div>`;
}

/** @param {unknown} value */
const sideText = (value) => {
  if (value === null || value === undefined || (Array.isArray(value) && value.length === 0)) return '–';
  return Array.isArray(value) ? value.map(choiceText).join(', ') : choiceText(value);
};
