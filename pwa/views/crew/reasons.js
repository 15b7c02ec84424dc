// The short lists of reasons, by what came of a fixture: codes of `installation.reason`.

/** @type {Record<string, string[]>} */
export const REASONS = {
  problem: [
    'bar-does-not-go-in',
    'sockets-damaged',
    'body-damaged',
    'earth-missing',
    'still-live',
    'wiring-differs',
    'other-lamps-or-ballast',
    'ballast-leaks',
    'suspect-ceiling',
    'wet',
    'part-missing',
    'part-faulty',
    'no-access',
    'other',
  ],
  skipped: ['no-access', 'room-in-use', 'part-missing', 'wet', 'other'],
  'not-done-after-all': ['wrong-fixture', 'ticked-by-mistake', 'taken-out-again', 'fails-since', 'other'],
};

/** The reason of the list that one of a card's stops is, where it is one. @type {Record<string, string>} */
export const OF_STOP = {
  'plan.stop.lamps': 'other-lamps-or-ballast',
  'plan.stop.second-feed': 'still-live',
  'plan.stop.unnamed-feed': 'still-live',
  'plan.stop.no-earth': 'earth-missing',
  'plan.stop.sockets': 'sockets-damaged',
  'plan.stop.volts': 'wiring-differs',
  'plan.stop.volts-not-seen': 'wiring-differs',
  'plan.stop.insulation': 'other',
  'plan.stop.leak': 'ballast-leaks',
  'plan.stop.broken-lamp': 'other',
};
