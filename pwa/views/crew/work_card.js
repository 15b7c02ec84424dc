// What to do with a fixture, as the release froze it, with the cautions that the survey asks for since.

import { wantedChecks } from '../../rules/installing/checked_off.js';
import { arrangementText } from '../coded_text.js';
import { useUnits } from '../forms/units.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { numberText } from '../numbers.js';
import { FitDrawing } from '../parts/fit_drawing.js';
import { Facts } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { choiceText, lengthIn, say } from '../words.js';
import { accessoriesAt, cautionsAt, emergencyAt, stepsAt } from './at_position.js';
import { BodyDrawing } from './body_drawing.js';
import { cardNow } from './card_now.js';
import { RowDrawing } from './row_drawing.js';
import { Steps } from './steps.js';

const NOT_SEEN = 'not-seen';

/** @param {{site: Site, read: ReleasedGroup, position: number, checkingOff?: import('./visits.js').CheckingOff, children?: Child}} props `checkingOff`: where steps may be checked off; what stands below the facts, before the drawings */
export function WorkCard({ site, read, position, checkingOff, children }) {
  const units = useUnits(site);
  const { number, arrangement, summary } = read.conversion.facets.identity;
  const frozen = /** @type {Card} */ (cardNow(read.conversion, read, site.reference));
  return html`<section class="card work" aria-label=${say('crew.what-to-do')}>
      <p class="muted small">${say('page.release', { number })}</p>
      <h2 class="to-fit">${linesOf(arrangementText(summary ?? arrangement))}</h2>
      <${Facts} facts=${factsOf(frozen, position)} />
      <${Emergency} emergency=${emergencyAt(frozen, position)} />
    </section>
    ${children}
    <${Rows} frozen=${frozen} units=${units} />
    <${Steps} steps=${stepsAt(frozen, position)} cautions=${cautionsAt(frozen, position)} units=${units} checkingOff=${checkingOff} />
    <${SiteFigures} values=${frozen.site_values ?? []} />
    <${SurveyPhotos} site=${site} subjects=${[read.group.id, read.kind?.id].filter(Boolean)} />`;
}

/** Figures set for this site on which the choice rests. @param {{values: Array<{code: string, facts: Facts}>}} props */
function SiteFigures({ values }) {
  if (!values.length) return null;
  return html`<details class="card">
    <summary class="turn">${say('page.figures-set-for-this-site')}</summary>
    ${values.map(({ code, facts }) => html`<p>${say(code, facts)}</p>`)}
  </details>`;
}

/** What the surveyor saw, for a look before the ladder. @param {{site: Site, subjects: string[]}} props */
function SurveyPhotos({ site, subjects }) {
  const photos = useLive(
    () => Promise.all(subjects.map((subject) => site.referring(subject, 'photo'))),
    [subjects.join()],
  );
  if (!photos?.flat().length) return null;
  return html`<details class="card">
    <summary class="turn">${say('crew.photos-from-the-survey')}</summary>
    ${subjects.map((subject) => html`<${Photos} key=${subject} site=${site} subject=${subject} />`)}
  </details>`;
}

/** @param {Card} frozen @param {number} position @returns {Array<[string, Child]>} */
function factsOf(frozen, position) {
  const { remove, driver, supply = {} } = frozen;
  /** @type {Array<[string, Child]>} */
  const facts = [];
  if (remove) facts.push([say('crew.take-out'), outText(remove)]);
  if (driver) {
    facts.push([say('crew.driver-title'), `${driver.number > 1 ? `${driver.number} × ` : ''}${driver.name}`]);
    facts.push([say('crew.driver-setting'), html`<strong class="setting">${driver.setting_ma} mA</strong>`]);
  }
  facts.push([say('crew.supply'), supply.volts ? `${choiceText(supply.volts)} V` : choiceText(NOT_SEEN)]);
  facts.push([
    say('crew.panel-circuit'),
    `${choiceText(supply.panel ?? NOT_SEEN)}, ${choiceText(supply.circuit ?? NOT_SEEN)}`,
  ]);
  for (const each of accessoriesAt(frozen, position))
    facts.push([say('crew.accessory'), `${each.name} (${choiceText(each.purpose)})`]);
  return facts;
}

/** What is told at an emergency fixture only. @param {{emergency: CardEmergency | null}} props */
function Emergency({ emergency }) {
  if (!emergency) return null;
  return html`<p class="strong">${say('crew.emergency-fixture', { duty: choiceText(emergency.duty) })}</p>
    <${Facts} facts=${emergencyFacts(emergency)} />
    <p class="muted small">${say('crew.emergency-code')}</p>`;
}

/** @param {CardEmergency} emergency @returns {Array<[string, Child]>} */
function emergencyFacts({ duty, pack, wanted_min: wanted, second_source: source, old_battery: battery }) {
  /** @type {Array<[string, Child]>} */
  const facts =
    duty === 'battery-in-fixture'
      ? [[say('crew.old-battery'), choiceText(battery ?? NOT_SEEN)]]
      : [[say('crew.stays-live-from'), choiceText(source ?? NOT_SEEN)]];
  if (wanted) facts.push([say('crew.must-last'), `${wanted} min`]);
  if (!pack) return facts;
  facts.push([say('crew.new-pack-lasts'), `${pack.lasts_min} min`]);
  if (pack.then_lm)
    facts.push([say('crew.its-light'), say('crew.about-from-one-bar', { then_lm: lumens(pack.then_lm) })]);
  if (pack.today_lm)
    facts.push([
      say('crew.light-today'),
      say('crew.on-mains-on-the-old', { today_lm: lumens(pack.today_lm) }),
    ]);
  return facts;
}

/** @param {number} value */
const lumens = (value) => `${numberText(value)} lm`;

/** @param {NonNullable<Card['remove']>} remove */
const outText = ({ lamps, lamp, ballasts, ballast }) =>
  [
    lamps > 0 && `${lamps} × ${lamp}`,
    ballasts > 0 && say('crew.ballast', { ballasts, ballast: choiceText(ballast) }),
  ]
    .filter(Boolean)
    .join(', ') || say('page.nothing');

/** A summary with each of its parts on a line of its own. @param {string} summary */
const linesOf = (summary) =>
  summary
    .split(', ')
    .map(
      (part, at, parts) =>
        html`<span key=${at}>${part.replace(/ mA$/, '\u00a0mA')}${at < parts.length - 1 ? ', ' : ''}</span>`,
    );

/** Rows with the same bars are drawn once. @param {CardRow[]} rows */
function alike(rows) {
  /** @type {Map<string, CardRow[]>} */
  const found = new Map();
  for (const row of rows) {
    const key = JSON.stringify([row.bars, row.gap_each_end_ticks, row.cavities, row.dark]);
    found.set(key, [...(found.get(key) ?? []), row]);
  }
  return [...found.values()];
}

/** @param {{frozen: Card, units: 'in' | 'mm'}} props */
function Rows({ frozen, units }) {
  return html`<section class="stack" aria-label=${say('crew.rows')}>
    <${BodyDrawing} frozen=${frozen} />
    ${alike(frozen.rows ?? []).map((rows) => html`<${Row} key=${rows[0].row} rows=${rows} cavity=${frozen.cavity_ticks} units=${units} />`)}
  </section>`;
}

/** @param {{rows: CardRow[], cavity: number, units: 'in' | 'mm'}} props */
function Row({ rows, cavity, units }) {
  const [row] = rows;
  const title = say(rows.length > 1 ? 'crew.rows-numbered' : 'crew.row', {
    row: rows.map((each) => each.row).join(', '),
  });
  if (row.dark) return html`<p class="card">${title}: ${say('crew.row-empty')}</p>`;
  const names = row.bars.map((bar) => bar.name).join(' + ');
  const gap = row.gap_each_end_ticks;
  return html`<figure class="card">
    <figcaption class="title">${title}: ${names}${row.cavities > 1 ? say('crew.in-each-cavity', { cavities: row.cavities }) : ''}</figcaption>
    <${RowDrawing} cavity=${cavity} bars=${row.bars} gap=${gap} label=${say('crew.the-row-to-scale-between', { title, cavity: lengthIn(cavity, units) })} />
    ${
      typeof gap === 'number' &&
      html`<${FitDrawing} units=${units} fit=${{ verdict: 'fits', clearance_ticks: 2 * gap, terms: {} }} label=${say('crew.both-ends-enlarged-from-each', { gap: lengthIn(gap, units) })} />`
    }
  </figure>`;
}

/** The checks without which a fixture is not done. @param {RecordView<'conversion'> | undefined} conversion @param {number} position @returns {string[]} */
export const checksOf = (conversion, position) =>
  wantedChecks(conversion?.facets.identity?.frozen ?? {}, position);
