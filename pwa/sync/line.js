// The sync line: its state, and what each event does to it. The tables of sync/README.md as code; no clock, no network.

/**
 * @typedef {'sent' | 'unsent' | 'sending' | 'offline' | 'failing' | 'signed-out' | 'needs-attention' | 'conflict' | 'storage-failing'} LineState
 * @typedef {'saved' | 'began' | 'finished' | 'network-lost' | 'network-back' | 'server-failed' | 'session-ended' | 'signed-in' | 'storage-failed' | 'storage-works' | 'woken' | 'tried'} LineEvent
 * @typedef {'sync' | 'wait' | 'back-off' | 'stay'} Then sync now · wait for the timer · try again later, each time later · nothing by itself
 * @typedef {import('../storage/types.js').Counts} Counts
 */

/** 'rest' stands for the state that the counts call for. @typedef {LineState | 'rest'} To */

/** What an event does wherever no row of STATES says otherwise. @type {Record<LineEvent, [To | 'same', Then]>} */
const EVENTS = {
  saved: ['rest', 'sync'],
  began: ['sending', 'stay'],
  finished: ['rest', 'wait'],
  'network-lost': ['offline', 'back-off'],
  'network-back': ['rest', 'sync'],
  'server-failed': ['failing', 'back-off'],
  'session-ended': ['signed-out', 'stay'],
  'signed-in': ['rest', 'sync'],
  'storage-failed': ['storage-failing', 'back-off'],
  'storage-works': ['rest', 'sync'],
  woken: ['same', 'sync'],
  tried: ['same', 'sync'],
};

/** Where a state answers an event in its own way. @type {Partial<Record<LineState, Partial<Record<LineEvent, [To | 'same', Then]>>>>} */
const STATES = {
  // What is saved while a request runs goes with the next one, without a second request beside the first.
  sending: {
    saved: ['same', 'stay'],
    'network-back': ['same', 'stay'],
    woken: ['same', 'stay'],
    tried: ['same', 'stay'],
  },
  // No request is tried for each save while there is no network, or while the server is down: the timer does that.
  offline: { saved: ['same', 'stay'] },
  failing: { saved: ['same', 'stay'] },
  // Local work goes on without a session; the network waits for the person.
  'signed-out': {
    saved: ['same', 'stay'],
    'network-back': ['same', 'stay'],
    woken: ['same', 'stay'],
    began: ['same', 'stay'],
    'network-lost': ['same', 'stay'],
    'storage-works': ['same', 'stay'],
  },
  // Nothing else matters until what was typed can be kept again.
  'storage-failing': {
    began: ['same', 'stay'],
    finished: ['same', 'back-off'],
    'network-lost': ['same', 'back-off'],
    'server-failed': ['same', 'back-off'],
    'network-back': ['same', 'sync'],
  },
};

/**
 * The state that the counts call for when nothing is in the way.
 *
 * @param {Counts} counts
 * @returns {LineState}
 */
export function atRest(counts) {
  if (counts.refused + counts.recovered > 0) return 'needs-attention';
  if (counts.conflicts > 0) return 'conflict';
  return counts.operations + counts.photos > 0 ? 'unsent' : 'sent';
}

/**
 * The next state, and what to do.
 *
 * @param {LineState} state @param {LineEvent} event @param {Counts} counts
 * @returns {{state: LineState, then: Then}}
 */
export function step(state, event, counts) {
  const [to, then] = STATES[state]?.[event] ?? EVENTS[event];
  if (to === 'same') return { state, then };
  return { state: to === 'rest' ? atRest(counts) : to, then };
}

export const LINE_STATES = /** @type {LineState[]} */ ([
  'sent', 'unsent', 'sending', 'offline', 'failing', 'signed-out', 'needs-attention', 'conflict', 'storage-failing',
]); // biome-ignore format: one line says it
export const LINE_EVENTS = /** @type {LineEvent[]} */ (Object.keys(EVENTS));
