// What a converted building needs: emergency tests that are due, how the parts hold, spares left.

import { html } from '../../html.js';
import { choiceText, say } from '../../words.js';
import { Answer, Desk, number, Table, useServer } from '../parts.js';
import { FailureCurve } from './failure_curve.js';
import { dayOf } from '../../today/days.js';

/** @typedef {{test: string, group: string, position: number, floor_name: string, room_name: string, mark: string, access: string, last: string, state: string, due: string}} DueTold */
/** @typedef {{code: string, fitted: number, failed: number, failed_pct: number, hours_burned: number | null, life_h: number | null, spares: number | null, warranty_ends: string | null, curve: import('./failure_curve.js').Curve}} FailedTold */
/** @typedef {{tests: DueTold[], failed: FailedTold[]}} UpkeepTold */

/** @param {{site: Site}} props */
export function Upkeep({ site }) {
  const answer = /** @type {import('../parts.js').Answered<UpkeepTold>} */ (
    useServer(`/api/sites/${site.id}/upkeep`, [])
  );
  return html`<${Desk} site=${site} at="/upkeep" title=${say('memory.upkeep.title')}>
    <${Answer} answer=${answer}>${(/** @type {UpkeepTold} */ told) => html`<${Tests} site=${site} tests=${told.tests} /><${Parts} parts=${told.failed} />`}<//>
  <//>`;
}

/** @param {{site: Site, tests: DueTold[]}} props */
function Tests({ site, tests }) {
  const today = dayOf(new Date());
  return html`<section class="card">
    <h2>${say('memory.upkeep.tests')}</h2>
    <p class="muted">${say('memory.upkeep.about')}</p>
    ${
      tests.length === 0
        ? html`<p class="notice">${say('memory.upkeep.no-tests')}</p>`
        : html`<p class="strong">${say('memory.upkeep.overdue', { count: tests.filter(({ due }) => due <= today).length })}</p>
    <p class="notice">${say('memory.caution.emergency')}</p>
    <div class="side-by-side">
      <a class="button main" href=${`/api/sites/${site.id}/upkeep.ics`} download>${say('memory.upkeep.calendar')}</a>
      <a class="button" href=${`/api/sites/${site.id}/upkeep.csv`} download>${say('memory.upkeep.csv')}</a>
    </div>
    <${Table} caption=${say('memory.upkeep.tests')} stacks
      heads=${[say('memory.upkeep.due'), say('memory.upkeep.test'), say('memory.upkeep.fixture'), say('memory.upkeep.access'), say('memory.upkeep.last')]}
      rows=${tests.map((each) => [
        each.due,
        say(`memory.test.${each.test}`),
        html`<a href=${`/s/${site.id}/fixture/${each.group}/${each.position}/now`}>${each.room_name}, ${say('memory.fixture', { mark: each.mark, position: each.position })}</a>`,
        choiceText(each.access),
        [each.last, each.state && choiceText(each.state)].filter(Boolean).join(', ') || '–',
      ])} />`
    }
  </section>`;
}

/** @param {{parts: FailedTold[]}} props */
function Parts({ parts }) {
  return html`<section class="card">
    <h2>${say('memory.upkeep.parts')}</h2>
    <p class="muted">${say('memory.upkeep.parts-about')}</p>
    <${Table} caption=${say('memory.upkeep.parts')} stacks
      heads=${[say('memory.upkeep.item'), say('memory.upkeep.fitted'), say('memory.upkeep.failed'), say('memory.upkeep.hours'), say('memory.upkeep.spares'), say('memory.upkeep.warranty')]}
      rows=${parts.map((each) => [
        each.code,
        number(each.fitted),
        `${number(each.failed)} (${each.failed_pct} %)`,
        `${each.hours_burned === null ? '–' : number(each.hours_burned)} / ${each.life_h === null ? '–' : number(each.life_h)}`,
        each.spares === null ? '–' : number(each.spares),
        each.warranty_ends ?? '–',
      ])} />
    ${parts.map((each) => html`<${FailureCurve} key=${each.code} code=${each.code} life=${each.life_h} curve=${each.curve} />`)}
  </section>`;
}
