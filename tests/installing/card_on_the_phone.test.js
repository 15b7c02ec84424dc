// What a crew's phone makes of a card and of a fixture without one: drawing, lengths, reasons, hazards, the partner.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { store } from '../../pwa/store/store.js';
import { stepsAt } from '../../pwa/views/crew/at_position.js';
import { bodyPlaces, drawingText, WIDTH } from '../../pwa/views/crew/body_drawing.js';
import { readGroup } from '../../pwa/views/crew/fixture_facts.js';
import { partnerName, partnerState } from '../../pwa/views/crew/partner.js';
import { changeText } from '../../pwa/views/crew/standing_notice.js';
import { cautionsBeforeAll } from '../../pwa/views/crew/steps.js';
import { stopReasons } from '../../pwa/views/crew/stops.js';
import { hazards, whyNot } from '../../pwa/views/crew/unreleased.js';
import { lengthIn, say } from '../../pwa/views/words.js';

const folder = new URL('../../server/spanwalk/spec/words.en/', import.meta.url);
store.tables.words = Object.assign(
  {},
  ...readdirSync(folder).map((name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'))),
);

const bar = (/** @type {number} */ row, more = {}) => ({ body: 'here', row, cavity: 1, place: 1, bar: 'BAR', ...more });
const wired = (/** @type {number} */ number, /** @type {any[]} */ outputs, spare = []) => ({
  driver: 'DRIVER',
  number,
  length_ticks: 60800,
  outputs,
  spare_outputs: spare,
});
const out = (/** @type {number} */ output, /** @type {any[]} */ ...bars) => ({ output, joined: 'alone', bars });
const row = (/** @type {number} */ number, more = {}) => ({
  row: number,
  cavities: 1,
  dark: false,
  gap_each_end_ticks: 1760,
  bars: [{ name: 'BAR', length_ticks: 380480 }],
  ...more,
});
const TWO_DRIVERS = {
  cavity_ticks: 384000,
  rows: [row(1), row(2)],
  wiring: [wired(1, [out(1, bar(1))], [2]), wired(2, [out(1, bar(2))], [2])],
  fed_from_neighbour: false,
  feeds_neighbour: false,
};

test('bars and drivers are drawn to one scale along the body', () => {
  const { bars, drivers } = bodyPlaces(TWO_DRIVERS);
  assert.equal(bars.length, 2);
  assert.equal(drivers.length, 2);
  const perTick = (bars[0].width + 1) / 380480;
  assert.ok(Math.abs(drivers[0].width - Math.max(60800 * perTick, 48)) < 0.01);
});

test('bars end to end fill the cavity but for the gap at each end', () => {
  const two = [{ name: 'A', length_ticks: 185600 }, { name: 'B', length_ticks: 185600 }];
  const { bars, sockets } = bodyPlaces({ ...TWO_DRIVERS, rows: [row(1, { bars: two })] });
  const [, right] = sockets;
  const scale = (bars[0].width + 1) / 185600;
  const gapRight = right.x - (bars[1].x + bars[1].width + 1);
  assert.ok(Math.abs(gapRight - 1760 * scale) < 0.01);
  assert.ok(Math.abs(bars[1].x - bars[0].x - bars[0].width - 1 - (384000 - 2 * 1760 - 2 * 185600) * scale) < 0.01);
});

test('everything drawn lies inside the drawing, with six rows of four cavities too', () => {
  const many = {
    ...TWO_DRIVERS,
    rows: [1, 2, 3, 4, 5, 6].map((each) => row(each, { cavities: 4 })),
    wiring: [1, 2].map((number) =>
      wired(
        number,
        [1, 2, 3, 4, 5, 6].map((each) => out(each, ...[1, 2].map((at) => bar(each, { cavity: 2 * (number - 1) + at })))),
      ),
    ),
  };
  const { bars, drivers, leads, height } = bodyPlaces(many);
  assert.equal(bars.length, 24);
  for (const { x, width, y } of [...bars, ...drivers]) assert.ok(x >= 0 && x + width <= WIDTH && y < height);
  const numbers = leads.flatMap(({ path }) => [...path.matchAll(/[MH](-?[\d.]+)/g)].map(([, x]) => Number(x)));
  assert.ok(numbers.length > 24);
  assert.ok(Math.max(...numbers) <= WIDTH && Math.min(...numbers) >= 0);
});

test('each bar carries its driver and output, and the drawing says the same in words', () => {
  assert.deepEqual(
    bodyPlaces(TWO_DRIVERS).bars.map(({ on }) => on),
    ['1.1', '2.1'],
  );
  const said = drawingText(TWO_DRIVERS);
  for (const each of ['Row 1: BAR on driver 1 output 1.', 'Row 2: BAR on driver 2 output 1.', 'output 2 not used, capped'])
    assert.ok(said.includes(each), `${each} in: ${said}`);
});

test('a row that stays empty is drawn without bars and said', () => {
  const dark = { ...TWO_DRIVERS, rows: [row(1), row(2, { dark: true, bars: [], gap_each_end_ticks: null })], wiring: [wired(1, [out(1, bar(1))], [2])] };
  assert.equal(bodyPlaces(dark).bars.length, 1);
  assert.ok(drawingText(dark).includes('Row 2 stays empty, its sockets dead.'));
});

test('a body fed from its neighbour has no driver drawn, and only leads to its own bars', () => {
  const fed = { ...TWO_DRIVERS, rows: [row(1)], fed_from_neighbour: true, wiring: [wired(1, [out(1, bar(1, { body: 'neighbour' })), out(2, bar(1))])] };
  const { drivers, leads } = bodyPlaces(fed);
  assert.equal(drivers.length, 0);
  assert.ok(leads.length > 0 && leads.every(({ on }) => on === '1.2'));
});

test('a length stands in the unit of the site alone', () => {
  assert.equal(lengthIn(45 * 8128 + 3 * 508, 'in'), '45 3/16 in');
  assert.equal(lengthIn(640, 'mm'), '2 mm');
  assert.equal(lengthIn(656, 'mm'), '2.1 mm');
  assert.equal(lengthIn(640, 'in'), '≈ 1/16 in');
  assert.equal(lengthIn(100, 'in'), 'under 1/16 in');
  const facts = { row: 1, bars: 'B', gap_each_end_ticks: 640 };
  assert.ok(say('plan.step.lay-bars', facts, 'in').includes('1/16 in from'));
  assert.ok(!say('plan.step.lay-bars', facts, 'in').includes('mm'));
});

test('a fact that is a sentence itself is said in its own words', () => {
  const bars = [{ code: 'plan.line.bar-at-row', facts: { bar: 'BAR', row: 2 } }];
  assert.equal(say('plan.line.output-alone', { output: 1, bars }), 'Output 1: BAR in row 2. + to +, − to −.');
});

test('cautions that a step carries are read there alone, those of an older card before all', () => {
  const carried = [{ code: 'plan.step.isolate', facts: {}, cautions: ['plan.caution.isolate'] }];
  assert.deepEqual(cautionsBeforeAll(carried, ['plan.caution.isolate']), []);
  const old = [{ code: 'plan.step.isolate', facts: {} }];
  assert.deepEqual(cautionsBeforeAll(old, ['plan.caution.isolate', 'plan.caution.pcb']), [
    'plan.caution.isolate',
    'plan.caution.pcb',
  ]);
});

test('a card that names no reasons to stop has none to choose from', () => {
  assert.deepEqual(stopReasons({ facets: { identity: { frozen: {} } } }), []);
  assert.deepEqual(stopReasons(undefined), []);
});

const SEEN = {
  kind: {
    facets: {
      lamps: { fitted: 'fluorescent' },
      wiring: { feeds: 'one', neighbour_leads: 'none', earth: 'seen' },
      ballast: { leaking: 'no' },
    },
  },
  group: { facets: { supply: { volts: '277', shared_neutral: 'no' }, duty: { emergency: 'none' } } },
  room: { facets: { surroundings: { hazardous: 'no' } } },
};

/** @param {'kind' | 'group' | 'room'} of @param {string} name @param {Record<string, any>} value */
const seenBut = (of, name, value) => ({
  ...SEEN,
  [of]: { facets: { ...SEEN[of].facets, [name]: { .../** @type {any} */ (SEEN[of].facets)[name], ...value } } },
});

/** What makes a reason or a hazard, each alone. @type {Array<[any, string | null, string | null]>} */
const ALONE = [
  [SEEN, 'crew.why.no-conversion', null],
  [seenBut('kind', 'lamps', { fitted: 'led-tube-on-mains' }), 'crew.why.led-on-mains', 'crew.hazard.led-on-mains'],
  [seenBut('kind', 'lamps', { fitted: 'led-tube-on-the-ballast' }), 'crew.why.led-on-ballast', 'crew.hazard.led-on-ballast'],
  [seenBut('kind', 'lamps', { fitted: 'built-in-led' }), 'crew.why.built-in-led', 'crew.hazard.built-in-led'],
  [seenBut('kind', 'lamps', { fitted: 'none' }), 'crew.why.no-lamps', null],
  [seenBut('kind', 'lamps', { fitted: 'not-seen' }), 'crew.why.not-seen', 'crew.hazard.sockets-not-seen'],
  [seenBut('kind', 'wiring', { feeds: 'two' }), 'crew.why.feeds', 'crew.hazard.feeds'],
  [seenBut('kind', 'wiring', { feeds: 'more' }), 'crew.why.feeds', 'crew.hazard.feeds'],
  [seenBut('kind', 'wiring', { feeds: 'not-seen' }), 'crew.why.not-seen', 'crew.hazard.feeds-not-seen'],
  [seenBut('kind', 'wiring', { earth: 'missing' }), 'crew.why.no-earth', 'crew.hazard.no-earth'],
  [seenBut('kind', 'ballast', { leaking: 'yes' }), 'crew.why.leaking', 'crew.hazard.leaking'],
  [seenBut('room', 'surroundings', { hazardous: 'yes' }), 'crew.why.hazardous', 'crew.hazard.hazardous'],
  [seenBut('group', 'supply', { shared_neutral: 'yes' }), 'crew.why.no-conversion', 'crew.hazard.shared-neutral'],
  [seenBut('group', 'duty', { emergency: 'battery-in-fixture' }), 'crew.why.no-conversion', 'crew.hazard.battery'],
  [seenBut('group', 'duty', { emergency: 'central-battery' }), 'crew.why.no-conversion', 'crew.hazard.second-source'],
  [seenBut('group', 'supply', { volts: 'not-seen' }), 'crew.why.not-seen', null],
  [seenBut('group', 'decision', { decision: 'leave-as-is' }), 'crew.why.decided', null],
  [seenBut('group', 'decision', { decision: 'defer', reason: 'next year' }), 'crew.why.decided-because', null],
];

test('each reason why nothing is released, and each hazard, is told from what the phone has', () => {
  for (const [read, why, hazard] of ALONE) {
    assert.deepEqual(whyNot(read).map(({ code }) => code), [why]);
    assert.deepEqual(hazards(read), hazard ? [hazard] : []);
  }
});

test('all that is told of an unreleased fixture has a whole sentence', () => {
  const sentences = ALONE.flatMap(([read]) => [
    ...whyNot(read).map(({ code, facts }) => say(code, facts)),
    ...hazards(read).map((code) => say(code)),
  ]);
  assert.ok(sentences.length > 25);
  for (const each of sentences) assert.ok(!/^crew\.|[{}]/.test(each), each);
});

test('where nothing at all was seen, the sockets count as live and what is missing is named', () => {
  const nothing = { kind: undefined, group: { facets: {} }, room: undefined };
  assert.deepEqual(hazards(nothing), ['crew.hazard.sockets-not-seen', 'crew.hazard.feeds-not-seen']);
  assert.equal(whyNot(nothing)[0].facts.missing.length, 6);
});

/** A pair of groups on one ballast, as a phone has them. @param {{positions?: number, released?: boolean}} [other] */
function pairSite({ positions = 2, released = true } = {}) {
  /** @param {string} id @param {string} partner */
  const conversion = (id, partner) => ({
    id: `c${id}`,
    facets: { identity: { number: 1, frozen: { partner: { group: partner, room: '101', mark: 'K7' } } } },
  });
  /** @type {Record<string, any>} */
  const records = {
    a: { id: 'a', parent: 'r', facets: { identity: { kind: 'k6' }, count: { count: 2 } } },
    b: { id: 'b', parent: 'r', facets: { identity: { kind: 'k7' }, count: { count: positions } } },
    k7: { id: 'k7', type: 'kind', facets: { identity: { mark: 'K7' } } },
    r: { id: 'r', type: 'room', parent: 'f', facets: { identity: { number: '101', name: 'Store' } } },
  };
  return {
    get: async (/** @type {string} */ id) => records[id],
    all: async () => [],
    children: async (/** @type {string} */ id, /** @type {string} */ type) =>
      type === 'conversion' && (id === 'a' || released) ? [conversion(id, id === 'a' ? 'b' : 'a')] : [],
    referring: async () => [],
  };
}

test('a partner is ready that is on the phone, released, and has the same position', async () => {
  const read = await readGroup(pairSite(), 'a');
  assert.equal(partnerState(read, 2), 'ready');
  const name = partnerName(read, 2);
  for (const each of ['K7', '101', 'fixture 2']) assert.ok(name.includes(each), name);
  assert.equal(partnerState(await readGroup(pairSite({ released: false }), 'a'), 2), 'missing');
  assert.equal(partnerState(await readGroup(pairSite({ positions: 1 }), 'a'), 2), 'missing');
});

test('a card that names no partner stands alone', async () => {
  const read = await readGroup(pairSite(), 'a');
  const alone = { ...read, conversion: { facets: { identity: { frozen: {} } } } };
  assert.equal(partnerState(alone, 1), 'none');
  assert.equal(partnerState({ ...read, conversion: undefined }, 1), 'none');
});

test('a line that is for some fixtures only is shown at those', () => {
  const line = { code: 'plan.line.through-pack', facts: {}, positions: [1, 5] };
  const card = { steps: [{ code: 'plan.step.connect-bars', facts: {}, lines: [{ code: 'plan.line.spare', facts: {} }, line] }] };
  assert.equal(stepsAt(card, 5)[0].lines?.length, 2);
  assert.deepEqual(stepsAt(card, 2)[0].lines, [{ code: 'plan.line.spare', facts: {} }]);
});

test('a group that was moved or counted as another kind is told in words, not by ids', () => {
  const [before, now] = ['dfdf5d22-fd8f-5265-9fc3-ac6fda6cb300', '4f5ac1c2-a169-507e-8864-2d6d55dfe835'];
  for (const field of ['parent', 'kind']) {
    const change = { fact: `group.identity.${field}`, before, now };
    const told = changeText({ spec: { records: {} } }, change);
    assert.equal(told, say(`standing.fact.group.identity.${field}`));
    assert.match(told, /^[A-Z][a-z ]+$/);
  }
});
