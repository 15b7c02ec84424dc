// The light of a room in one picture: found, all lamps burning, on day one and maintained, each with its range, what is wanted
// and what was read.

import { html } from '../../html.js';
import { numberText } from '../../numbers.js';
import { choiceText, say } from '../../words.js';
import { number, Table } from '../parts.js';
import { WIDTH } from '../picture_scale.js';

const EDGE = 12;
const ROW = 74;
const [NAME_AT, FIGURE_AT] = [18, 40];
const BAR = 14;
const POINT = 6;
const FOOT = 26;
const VALUE_PLACES = 4;

/** @typedef {{lux: number, low: number, high: number}} Lux */
/** @typedef {{name: string, of: Lux, read: number | null}} Row */

/** @param {{light: RoomLight}} props */
export function LightOfRoomPicture({ light }) {
  const rows = rowsOf(light);
  return html`<section class="stack" aria-label=${say('room-light.title')}>
    <h3>${say('room-light.title')}</h3>
    ${rows.length > 0 && html`<${Picture} rows=${rows} wanted=${light.wanted} />`}
    <ul class="rows">${light.says.map(({ code, facts }) => html`<li class="row-text"><span class="detail">${say(code, facts)}</span></li>`)}</ul>
  </section>`;
}

/** What is drawn, from the top. @param {RoomLight} light @returns {Row[]} */
export function rowsOf(light) {
  const [before, after] = [light.read_before, light.read_after].map((read) =>
    read?.points ? read.lux : null,
  );
  /** @type {Array<[string, Lux | null, number | null]>} */
  const all = [
    [say('room-light.found'), light.found, before],
    [say('room-light.all-burning'), light.all_burning, null],
    [say('room-light.day-one'), light.day_one, after],
    [say('room-light.maintained', { years: light.years }), light.maintained, null],
  ];
  return all.flatMap(([name, of, read]) => (of ? [{ name, of, read }] : []));
}

/** The picture in words. @param {Row[]} rows @param {number | null} wanted */
export function toldOf(rows, wanted) {
  const told = rows.flatMap(({ name, of, read }) => [
    say('room-light.from-to', { name, ...of }),
    read === null ? '' : say('room-light.read', { read }),
  ]);
  return [...told, wanted === null ? '' : say('room-light.wanted', { wanted })].filter(Boolean).join(' ');
}

/** @param {{rows: Row[], wanted: number | null}} props */
function Picture({ rows, wanted }) {
  const most = Math.max(...rows.flatMap(({ of, read }) => [of.high, read ?? 0]), wanted ?? 0, 1);
  const at = (/** @type {number} */ lux) => EDGE + (lux / most) * (WIDTH - 2 * EDGE);
  const [top, bottom] = [ROW - BAR - POINT, ROW - POINT];
  const height = rows.length * ROW + (wanted === null ? 0 : FOOT);
  return html`<svg class="picture" viewBox=${`0 0 ${WIDTH} ${height}`} role="img" aria-label=${`${say('room-light.picture')} ${toldOf(rows, wanted)}`}>
    ${rows.map(
      ({ name, of, read }, place) => html`<g key=${name} transform=${`translate(0 ${place * ROW})`}>
      <text x=${EDGE} y=${NAME_AT}>${name}</text>
      <text class="end" x=${EDGE} y=${FIGURE_AT}>${say('room-light.figure', { lux: number(of.lux), low: number(of.low), high: number(of.high) })}</text>
      <rect class="swing" x=${at(of.low)} y=${top} width=${Math.max(1, at(of.high) - at(of.low))} height=${BAR} />
      <line class="axis" x1=${at(of.lux)} x2=${at(of.lux)} y1=${top} y2=${bottom} />
      ${wanted !== null && html`<line class="base" x1=${at(wanted)} x2=${at(wanted)} y1=${top - POINT} y2=${bottom + POINT} />`}
      ${read !== null && html`<circle class="point" cx=${at(read)} cy=${top + BAR / 2} r=${POINT} />`}
    </g>`,
    )}
    ${wanted !== null && html`<text class="end" x=${at(wanted)} y=${height - POINT} text-anchor="middle">${say('room-light.wanted', { wanted: number(wanted) })}</text>`}
  </svg>`;
}

/** Of what the light of the group is made: each term with its source. @param {{terms: Record<'today' | 'new', LightTerm[]>}} props */
export function LightTerms({ terms: { today, new: then } }) {
  /** @type {Array<[string, LightTerm[]]>} */
  const parts = [
    [say('light-term.title-today'), today],
    [say('light-term.title-new'), then],
  ];
  return parts.map(
    ([title, terms]) =>
      terms.length > 0 &&
      html`<details key=${title}><summary>${title}</summary>
    <${Table} caption=${title} numbers=${[1]} stacks heads=${[say('light-term.term'), say('light-term.value'), say('light-term.known')]}
      rows=${terms.map(({ term, value, source, how_known }) => [
        say(`light-term.${term}`),
        numberText(value, 0, VALUE_PLACES),
        source ? say('light-term.of', { how_known, source }) : choiceText(how_known),
      ])} />
  </details>`,
  );
}
