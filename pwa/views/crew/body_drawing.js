// One body as it hangs, to scale along its length: rows, bars, drivers and the leads between them. Row 1 is drawn
// at the top and the end nearer the entrance at the left, as rows are counted.

import { html } from '../html.js';
import { say } from '../words.js';

export const WIDTH = 328;
const EDGE = 10;
const SOCKET = 8;
const HEAD = 26;
const STRIP = 24;
const ROW = 54;
const LANE = 60;
const BOX = 24;
const STEP = 7;
const LEAST_BAR = 3;

/** @typedef {{row: number, cavity: number, place: number, name: string, x: number, y: number, width: number, on: string}} DrawnBar */
/** @typedef {{row: number, dark: boolean, y: number, names: string}} DrawnRow */
/** @typedef {{number: number, name: string, x: number, y: number, width: number, spare: number[]}} DrawnDriver */
/** @typedef {{on: string, path: string}} Lead */
/** @typedef {WiredOutput & {on: string}} UsedOutput an output with something on it; `on` is its driver and itself: '2.1' */

/** What a bar hangs on, in short: driver 2, output 1 is '2.1'. @param {WiredDriver[]} wiring @returns {Map<string, string>} by body, row, cavity, place */
function outputsOf(wiring) {
  return new Map(
    wiring.flatMap(({ number, outputs }) =>
      outputs.flatMap(({ output, bars }) => bars.map((bar) => [keyOf(bar), `${number}.${output}`])),
    ),
  );
}

/** @param {{body?: string, row: number, cavity: number, place: number}} bar */
const keyOf = ({ body = 'here', row, cavity, place }) => [body, row, cavity, place].join('|');

/** @param {WiredDriver[]} wiring */
const outputsInUse = (wiring) =>
  wiring.flatMap(({ number, outputs }) =>
    outputs.map((each) => ({ ...each, on: `${number}.${each.output}` })),
  );

/**
 * Where everything lies [px]; lengths along the body are to one scale, bars and driver alike.
 *
 * @param {Card} frozen a card with `wiring`
 * @returns {{rows: DrawnRow[], bars: DrawnBar[], drivers: DrawnDriver[], leads: Lead[], sockets: Array<{x: number, y: number}>, height: number, end: number}}
 */
export function bodyPlaces({ rows, wiring, cavity_ticks: cavity, fed_from_neighbour: fed = false }) {
  const used = outputsInUse(wiring).filter(({ bars }) => bars.some((bar) => bar.body === 'here' || !fed));
  const gutter = (used.length + 1) * STEP;
  const cavities = rows[0]?.cavities ?? 1;
  const length = WIDTH - 2 * EDGE - gutter;
  const scale = (length - (cavities + 1) * SOCKET) / (cavities * cavity);
  const on = outputsOf(wiring);
  const here = rows.map((row, /** @type {number} */ at) => drawnRow(row, HEAD + at * ROW));
  const bars = rows.flatMap((row, /** @type {number} */ at) =>
    barsOf(row, { cavity, scale, on, y: HEAD + at * ROW + 18 }),
  );
  const from = HEAD + rows.length * ROW;
  const drivers = fed
    ? []
    : wiring.map((each, /** @type {number} */ at) => drawnDriver(each, from + at * LANE, scale));
  const height = from + Math.max(drivers.length, 1) * LANE + (usesNeighbour(used, fed) && !fed ? 18 : 0);
  const end = EDGE + length;
  const leads = used.flatMap((output, at) =>
    leadsOf(output, { bars, drivers, trunk: end + (at + 1) * STEP, height, fed }),
  );
  return {
    rows: here,
    bars,
    drivers,
    leads,
    sockets: socketsOf(here, cavities, cavity * scale),
    height,
    end,
  };
}

/** @param {UsedOutput[]} used @param {boolean} fed */
const usesNeighbour = (used, fed) =>
  !fed && used.some(({ bars }) => bars.some((bar) => bar.body === 'neighbour'));

/** @param {CardRow} row @param {number} y @returns {DrawnRow} */
const drawnRow = ({ row, dark, bars }, y) => ({
  row,
  dark,
  y,
  names: [...new Set(bars.map(({ name }) => name))].join(' + '),
});

/** @param {CardRow} row @param {{cavity: number, scale: number, on: Map<string, string>, y: number}} how @returns {DrawnBar[]} */
function barsOf({ row, bars, cavities, gap_each_end_ticks: gap }, { cavity, scale, on, y }) {
  const together = bars.reduce((/** @type {number} */ sum, bar) => sum + bar.length_ticks, 0);
  const joint = bars.length > 1 ? Math.max(0, (cavity - 2 * (gap ?? 0) - together) / (bars.length - 1)) : 0;
  return Array.from({ length: cavities }, (_, at) => at + 1).flatMap((place) => {
    let from = EDGE + place * SOCKET + (place - 1) * cavity * scale + (gap ?? 0) * scale;
    return bars.map((bar, /** @type {number} */ at) => {
      const where = { row, cavity: place, place: at + 1 };
      const drawn = {
        ...where,
        name: bar.name,
        x: from,
        y,
        width: Math.max(bar.length_ticks * scale - 1, LEAST_BAR),
        on: on.get(keyOf(where)) ?? '',
      };
      from += (bar.length_ticks + joint) * scale;
      return drawn;
    });
  });
}

/** In the middle of the body: where along it the ballast was, nobody measures. @param {WiredDriver} wired @param {number} y @param {number} scale @returns {DrawnDriver} */
function drawnDriver({ number, driver, length_ticks: length, spare_outputs: spare }, y, scale) {
  const width = Math.max((length ?? 0) * scale, 48);
  return { number, name: driver, width, x: EDGE + (WIDTH - 2 * EDGE - width) / 2, y: y + 22, spare };
}

/** @param {DrawnRow[]} rows @param {number} cavities @param {number} width */
const socketsOf = (rows, cavities, width) =>
  rows.flatMap(({ y }) =>
    Array.from({ length: cavities + 1 }, (_, at) => ({ x: EDGE + at * (SOCKET + width), y: y + 14 })),
  );

/**
 * The leads of one output: out of its driver, up beside the body, and in to each of its bars.
 *
 * @param {UsedOutput} output @param {{bars: DrawnBar[], drivers: DrawnDriver[], trunk: number, height: number, fed: boolean}} how
 * @returns {Lead[]}
 */
function leadsOf({ on, bars: wired }, { bars, drivers, trunk, height, fed }) {
  const driver = drivers.find(({ number }) => on.startsWith(`${number}.`));
  const own = bars.filter((bar) => bar.on === on);
  const low = fed || !driver ? height - 26 : driver.y + 6 + (Number(on.split('.')[1]) % 4) * 4;
  const top = Math.min(low, ...own.map(({ y }) => y + STRIP - 6));
  const toNeighbour = !fed && wired.some((bar) => bar.body === 'neighbour');
  const start = driver ? `M${driver.x + driver.width} ${low} H${trunk}` : `M${trunk} ${low}`;
  return [
    { on, path: `${start} V${top}` },
    ...own.map(({ x, y, width }) => ({
      on,
      path: `M${trunk} ${y + STRIP - 6} H${x + width - 4} V${y + 16}`,
    })),
    ...(toNeighbour ? [{ on, path: `M${trunk} ${low} V${height - 20}` }] : []),
  ];
}

/** All that is drawn, in words. @param {Card} frozen @returns {string} */
export function drawingText(frozen) {
  const on = outputsOf(frozen.wiring);
  const rows = frozen.rows.map((row) => rowText(row, on));
  const drivers = frozen.fed_from_neighbour
    ? [say('crew.drawing-fed')]
    : frozen.wiring.map(({ number, driver, spare_outputs: spare }) =>
        say(spare.length ? 'crew.drawing-driver-spare' : 'crew.drawing-driver', {
          number,
          driver,
          outputs: spare,
        }),
      );
  return [say('crew.drawing'), ...rows, ...drivers].join(' ');
}

/** @param {CardRow} row @param {Map<string, string>} on */
function rowText({ row, dark, bars, cavities }, on) {
  if (dark) return say('crew.drawing-row-empty', { row });
  const each = Array.from({ length: cavities }, (_, at) => at + 1).flatMap((cavity) =>
    bars.map(({ name }, /** @type {number} */ at) => {
      const [driver, output] = (on.get(keyOf({ row, cavity, place: at + 1 })) ?? '').split('.');
      return output ? { code: 'crew.drawing-bar', facts: { name, driver, output } } : name;
    }),
  );
  return say('crew.drawing-row', { row, bars: each });
}

/** Nothing for a card that was frozen before cards had a wiring. @param {{frozen: Card}} props */
export function BodyDrawing({ frozen }) {
  if (!frozen.wiring?.length) return null;
  const { rows, bars, drivers, leads, sockets, height, end } = bodyPlaces(frozen);
  const { fed_from_neighbour: fed, feeds_neighbour: feeds } = frozen;
  return html`<figure class="card">
    <figcaption class="title">${say('crew.the-body-to-scale-along')}</figcaption>
    <svg class="body-drawing" viewBox="0 0 ${WIDTH} ${height}" role="img" aria-label=${drawingText(frozen)}>
      <text class="quiet" x=${EDGE} y="12">${say('crew.entrance-end')}</text>
      <rect class="outline" x="2" y=${HEAD - 8} width=${WIDTH - 4} height=${height - HEAD + 6} />
      ${rows.map(
        ({ row, dark, y, names }) => html`<g key=${row}>
          <text x=${EDGE} y=${y + 10}>${say('crew.row', { row })}${dark ? say('crew.empty-sockets-dead') : `: ${names}`}</text>
          ${dark && html`<rect class="empty" x=${EDGE + SOCKET} y=${y + 18} width=${end - EDGE - 2 * SOCKET} height="16" />`}
        </g>`,
      )}
      ${sockets.map(({ x, y }) => html`<rect class="socket" x=${x} y=${y} width=${SOCKET} height=${STRIP} />`)}
      ${leads.map(({ path }, at) => html`<path class="lead" key=${at} d=${path} />`)}
      ${bars.map(
        ({ x, y, width, on }, at) => html`<g key=${at}>
          <rect class="bar" x=${x} y=${y} width=${width} height="16" />
          <text class="on-bar" x=${x + width / 2} y=${y + 12} text-anchor="middle">${on}</text>
        </g>`,
      )}
      ${drivers.map((driver) => html`<${DriverBox} key=${driver.number} driver=${driver} />`)}
      ${fed && html`<text x=${EDGE} y=${height - 22}>${say('crew.from-the-driver-in-the')}</text>`}
      ${feeds && html`<text x=${WIDTH - EDGE} y=${height - 8} text-anchor="end">${say('crew.to-the-neighbour')}</text>`}
    </svg>
    <p class="small muted">${say('crew.drawing-key')}</p>
    <p class="small muted">${say('crew.rows-counted')}</p>
  </figure>`;
}

/** @param {{driver: DrawnDriver}} props */
function DriverBox({ driver: { number, name, x, y, width, spare } }) {
  const text = spare.length
    ? say('crew.driver-output-capped', { number, name, spare: spare.join(', ') })
    : say('crew.driver', { number, name });
  return html`<g>
    <path class="supply" d=${`M4 ${y + BOX / 2} H${x}`} />
    <text x="8" y=${y + BOX / 2 - 4}>L N E</text>
    <rect class="driver" x=${x} y=${y} width=${width} height=${BOX} />
    <text class="in-driver" x=${x + width / 2} y=${y + 17} text-anchor="middle">${number}</text>
    <text x=${EDGE} y=${y - 8}>${text}</text>
  </g>`;
}
