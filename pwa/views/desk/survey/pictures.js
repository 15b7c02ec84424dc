// Pictures of a survey: readings of a kind with their limits, the chance of acceptance, and rooms by floor as far as they are done.

import { html } from '../../html.js';
import { counted, lengthText, say } from '../../words.js';
import { Fold } from '../fold.js';
import { number } from '../parts.js';
import { WIDTH } from '../picture_scale.js';

const EDGE = 12;
const STRIP_HEIGHT = 144;
const STRIP_FOOT = 54;
const DOT = 5;
const LEVELS = 7;
const CURVE_HEIGHT = 220;
const CURVE_FOOT = 30;
const CELL = 24;
const CELLS = 13;
const NAME = 24;
/** How full a room is drawn that is not complete though all its fixtures are. */
const NOT_COMPLETE_MOST = 0.7;
/** So many rooms are drawn one by one; a larger site has the table alone. */
const ROOMS_MOST = 400;

/** @param {StripTold} told */
function stripText({
  readings,
  lengths_ticks: lengths,
  low_ticks: low,
  high_ticks: high,
  trusted_ticks: trusted,
}) {
  const outside = lengths.filter(
    (each) => (low !== null && each < low) || (high !== null && each > high),
  ).length;
  return [
    say('walk.strip-told', {
      readings: counted(readings, 'reading'),
      low: lengthText(lengths[0]),
      high: lengthText(lengths[lengths.length - 1]),
    }),
    low !== null &&
      high !== null &&
      say('walk.strip-likely', { low: lengthText(low), high: lengthText(high) }),
    outside > 0 && say('walk.strip-outside', { number: outside }),
    trusted !== null && say('walk.strip-trusted', { trusted: lengthText(trusted) }),
  ]
    .filter(Boolean)
    .join(' ');
}

/** Readings of a kind along their length, one dot each, with what is likely and what is trusted. @param {{told: StripTold}} props */
export function StripPlot({ told }) {
  const { lengths_ticks: lengths, low_ticks: low, high_ticks: high, trusted_ticks: trusted } = told;
  if (lengths.length === 0) return null;
  const ends = [...lengths, ...[low, high, trusted].flatMap((each) => each ?? [])];
  const [least, most] = [Math.min(...ends), Math.max(...ends)];
  const x = (/** @type {number} */ ticks) =>
    2 * EDGE + ((ticks - least) / (most - least || 1)) * (WIDTH - 4 * EDGE);
  const text = stripText(told);
  const title = say('walk.strip', { mark: told.mark });
  const foot = STRIP_HEIGHT - STRIP_FOOT;
  return html`<figure class="stack"><figcaption class="strong">${title}</figcaption>
    <svg class="picture" viewBox=${`0 0 ${WIDTH} ${STRIP_HEIGHT}`} role="img" aria-label=${`${title}: ${text}`}>
    ${low !== null && high !== null && html`<rect class="likely" x=${x(low)} width=${Math.max(1, x(high) - x(low))} y="0" height=${foot} />`}
    <line class="axis" x1="0" x2=${WIDTH} y1=${foot} y2=${foot} />
    ${lengths.map((each, place) => html`<circle key=${place} class="point" cx=${x(each)} cy=${foot - 2 * EDGE - (place % LEVELS) * (DOT + 2)} r=${DOT} />`)}
    ${trusted !== null && html`<line class="limit" x1=${x(trusted)} x2=${x(trusted)} y1="0" y2=${foot} />`}
    <text x="0" y=${foot + 20}>${lengthText(least)}</text>
    <text x=${WIDTH} y=${STRIP_HEIGHT - 8} text-anchor="end">${lengthText(most)}</text>
    </svg>
    <p>${text}</p><p class="muted small">${say('walk.strip-about')}</p></figure>`;
}

/** The chance that a lot is accepted against the share of wrong readings in it. @param {{curve: Array<[number, number]>}} props */
export function Acceptance({ curve }) {
  const most = curve[curve.length - 1][0];
  const x = (/** @type {number} */ share) => 3 * EDGE + (share / most) * (WIDTH - 5 * EDGE);
  const y = (/** @type {number} */ chance) => EDGE + (1 - chance) * (CURVE_HEIGHT - CURVE_FOOT - EDGE);
  const told = curve
    .map(([share, chance]) => say('walk.point', { share: number(share, 1), chance: number(chance * 100) }))
    .join(' ');
  const foot = CURVE_HEIGHT - CURVE_FOOT;
  return html`<figure class="stack"><figcaption class="strong">${say('walk.curve')}</figcaption>
    <svg class="picture" viewBox=${`0 0 ${WIDTH} ${CURVE_HEIGHT}`} role="img" aria-label=${`${say('walk.curve')}: ${told}`}>
    <line class="axis" x1="0" x2=${WIDTH} y1=${foot} y2=${foot} />
    <polyline class="line" points=${curve.map(([share, chance]) => `${x(share)},${y(chance)}`).join(' ')} />
    ${curve.map(([share, chance]) => html`<circle key=${share} class="point" cx=${x(share)} cy=${y(chance)} r="4" />`)}
    <text class="end" x="0" y=${EDGE + 6}>1</text><text class="end" x="0" y=${foot - 4}>0</text>
    <text x=${x(0)} y=${CURVE_HEIGHT - 6} text-anchor="middle">0 %</text>
    <text x=${x(most)} y=${CURVE_HEIGHT - 6} text-anchor="middle">${number(most)} %</text>
    </svg></figure>`;
}

/** A square for each room, filled as far as its fixtures are complete, floor by floor. @param {{floors: Array<import('../../../rules/points/completeness.js').FloorEntry>}} props */
export function FloorsAndRooms({ floors }) {
  const rooms = floors.reduce((sum, floor) => sum + floor.in_rooms.length, 0);
  if (rooms === 0 || rooms > ROOMS_MOST) return null;
  let top = 0;
  const drawn = floors.map((floor) => {
    const from = top;
    top += NAME + Math.ceil(floor.in_rooms.length / CELLS) * CELL + EDGE;
    return { floor, from };
  });
  const told = floors
    .map(({ name, rooms: of, fixtures }) =>
      say('pictures.floor', {
        floor: name,
        rooms: of.complete,
        of_rooms: of.known,
        fixtures: fixtures.complete,
        of_fixtures: fixtures.known,
      }),
    )
    .join(' ');
  return html`<${Fold} title=${say('pictures.floors-and-rooms')}><figure class="stack"><figcaption class="strong">${say('pictures.floors-and-rooms')}</figcaption>
    <svg class="picture" viewBox=${`0 0 ${WIDTH} ${top}`} role="img" aria-label=${`${say('pictures.floors-and-rooms')}: ${told}`}>
    ${drawn.map(({ floor, from }) => html`<g key=${floor.id}><text x="0" y=${from + NAME - 6}>${floor.name}</text>${floor.in_rooms.map((room, place) => html`<${Cell} key=${room.id} room=${room} x=${(place % CELLS) * CELL + 2} y=${from + NAME + Math.floor(place / CELLS) * CELL} />`)}</g>`)}
    </svg>
    <p class="muted small">${say('pictures.floors-and-rooms-about')}</p></figure><//>`;
}

/** @param {{room: import('../../../rules/points/completeness.js').RoomEntry, x: number, y: number}} props */
function Cell({ room, x, y }) {
  const side = CELL - 4;
  const { known, complete } = room.fixtures;
  const share = room.complete ? 1 : known ? (NOT_COMPLETE_MOST * complete) / known : 0;
  return html`<rect class="cell" x=${x} y=${y} width=${side} height=${side} />
    ${share > 0 && html`<rect class="swing" x=${x} y=${y + side * (1 - share)} width=${side} height=${side * share} />`}`;
}
