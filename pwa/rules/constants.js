// Made from spec/rules.json by `python -m spanwalk.records.made_rules`: do not edit. Twin: server/spanwalk/rules/constants.py.

export const ACCEPTED = ['accepts_trial', 'accepts_lamp', 'accepts_led_tubes'];
export const AGE_FROM = [1980, 1995, 2010];
export const ALONE_TICKS = 960;
export const AS_RELEASED = 'as-released';
export const BASES = ['lamp', 'sample', 'all'];
export const BY_NAME = 'convert-with-this-arrangement';
export const BY_SURVEY = [
  'plan.blocked.hazardous-not-seen',
  'plan.blocked.neighbour-leads-not-seen',
  'plan.blocked.neighbour-not-found',
  'plan.blocked.fed-not-found',
  'plan.blocked.neighbour-several',
  'plan.blocked.neighbour-counts',
  'plan.blocked.neighbour-lamps',
  'plan.bar-fixing.cannot-tell',
  'plan.bar-moisture.cannot-tell',
  'plan.bar-heat.cannot-tell',
  'plan.bar-cold.cannot-tell',
  'plan.driver.cold.cannot-tell',
  'plan.driver.moisture.cannot-tell',
  'plan.driver.temperature.cannot-tell',
  'plan.driver.dimming.cannot-tell',
  'plan.driver.dimmer.cannot-tell',
  'plan.light.cannot-tell',
];
export const CEILING_FROM_FLOOR = [
  'ceiling.ceiling',
  'ceiling.access',
  'ceiling.fire_rated',
  'ceiling.asbestos',
];
export const CHECKS_OF_ALL = ['leads-removed-or-capped', 'sockets-proved-dead', 'earth-checked', 'label-on'];
export const CLEAR_CAPACITOR_FROM = 1990;
export const CLUSTER_LEAST = 2;
export const CODE_LENGTH = 8;
export const CODE_PATH = '/F/';
export const CODE_SYMBOLS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
export const DECIMAL_STEPS = 10000;
export const DEFAULT_GRADUATION = '1-16-in';
export const DEGREES = ['fits', 'by-trial', 'by-lamp', 'so-far', 'tight', 'cannot-tell', 'too-long', 'never'];
export const DIMS = [
  'dimming',
  'personal-tuning',
  'institutional-tuning',
  'daylight',
  'occupancy-and-daylight',
];
export const DIRECT = 'dc';
export const DONE_AGAIN = 'sent-back';
export const ENDS_VISITS = ['done', 'not-done-after-all'];
export const FIRST_READINGS = 3;
export const FNV_OFFSETS = [2166136261, 2538058380];
export const FNV_PRIME = 16777619;
export const GAP_READ_TICKS = 320;
export const GAP_TO_RANGE = 2;
export const GAUGE_CAPS = ['G5', 'G13'];
export const HOURS_FROM_FLOOR = ['hours.hours_year.how_known'];
export const HUNDRED_MM_TICKS = 32000;
export const INCH_TICKS = 8128;
export const IN_FORCE = 'in force';
export const JUDGED_OF_BALLASTS = ['ballast', 'pcb_mark', 'made', 'capacitor', 'capacitor_made'];
export const LAST_PLACE = 1000000;
export const LEAST_FIXTURES = 3;
export const LEAST_GAP_TICKS = 640;
export const LEAST_LIT_PCT = 80;
export const LOOK = 'look';
export const MIDDLE_SOCKETS_TICKS = 19200;
export const MINUTES_AN_HOUR = 60;
export const MOISTURE = ['dry', 'damp', 'wet'];
export const MOISTURE_FROM_FLOOR = ['surroundings.moisture'];
export const MOST_BARS = 4;
export const MOST_CHARACTERS = 60;
export const MOST_MORE = 100;
export const MOST_PLAIN_INCHES = 240;
export const MOST_ROWS = 5000;
export const MOST_TICKS = 6400000;
export const NEVER = ['plan.not.between-sockets', 'plan.not.too-long'];
export const NEW_RELEASE = 'new-release';
export const NEXT_STEP_FROM = 2;
export const NOMINAL_SLACK_TICKS = 640;
export const NOTHING_SAID = 'nothing-said';
export const NOTHING_TO_CONVERT = ['built-in-led', 'none'];
export const NOT_BETWEEN_SOCKETS = ['circular', 'compact', 'U-bend'];
export const NOT_SEEN = 'not-seen';
export const ONE_IN = 20;
export const ONE_SIDED_95_THOUSANDTHS = 1645;
export const OTHERS_LEAST = 3;
export const OUT_OF_BAND = ['reading.out-of-band', 'reading.out-of-loose-band'];
export const OVER_TICKS = 960;
export const OWN_DEGREES = 7;
export const PANEL_FROM_FLOOR = ['supply.panel'];
export const PCB_UNTIL_YEAR = 1998;
export const PER_CENT = 100;
export const PER_KELVIN = 10000000;
export const PROOF_HOLDS_MINUTES = 240;
export const PROVING_STEPS = [
  'plan.step.isolate',
  'plan.step.isolate-second',
  'plan.step.prove-dead',
  'plan.step.prove-dead-second',
  'plan.step.prove-dead-battery',
  'plan.step.close-and-restore',
  'plan.step.restore',
  'plan.step.prove-sockets',
];
export const RANGES_ON_LABELS = ['120-277', '347-480'];
export const RELEASED_SINCE = 'released-since';
export const ROOM_DONE = ['surveyed', 'nothing-to-convert'];
export const RULES_VERSION = '9';
export const SAID_BY_RULES = [
  'plan.blocked.nothing-judged',
  'plan.blocked.nothing-passes',
  'plan.blocked.no-count',
  'plan.blocked.conflict',
  'plan.blocked.reading-alone',
  'plan.blocked.reading-questioned',
  'plan.blocked.lot-refused',
  'plan.blocked.repeats-spread',
  'plan.blocked.by-lamp',
  'plan.blocked.no-volts',
  'plan.blocked.emergency-not-seen',
  'plan.blocked.emergency-position-not-there',
  'plan.blocked.second-source-not-named',
  'plan.blocked.feeds-not-seen',
  'plan.blocked.lamps-not-seen',
  'plan.blocked.partner',
  'plan.blocked.partner-not-released',
  'plan.partner.cannot-tell',
  'plan.fit-tight.cannot-tell',
  'plan.fit-trial.cannot-tell',
  'plan.fit-unread.cannot-tell',
  'plan.driver.space.cannot-tell',
  'plan.driver.volts.cannot-tell',
  'plan.driver.emergency.cannot-tell',
  'plan.emergency-positions.cannot-tell',
];
export const SECOND_SOURCE = ['generator-or-inverter', 'central-battery'];
export const SHORTEST_UNDER_TENTHS_MM = 24;
export const SIDES = ['length_ticks', 'width_ticks', 'height_ticks'];
export const SILENT_COLDEST_C = 0;
export const SILENT_HOTTEST_C = 35;
export const STAYS = [
  'conversion',
  'installation',
  'visit',
  'emergency_test',
  'failure',
  'function_test',
  'punch_point',
];
export const STOP = 'stop';
export const SUPERSEDED = 'superseded';
export const SURELY_DIMS = ['dimming', 'personal-tuning', 'institutional-tuning'];
export const TAKEN_BACK = 'not-done-after-all';
export const TEN_THOUSANDTHS = 10000;
export const TICKS_PER_64TH_INCH = 127;
export const TICKS_PER_FOOT = 97536;
export const TICKS_PER_INCH = 8128;
export const TICKS_PER_METRE = 320000;
export const TICKS_PER_MM = 320;
export const TICKS_PER_TENTH_MM = 32;
export const TOO_LONG = ['8-ft'];
export const TO_DO = 'do-it-so';
export const UNANSWERED = 'unanswered';
export const VERDICTS = ['fits', 'tight', 'cannot tell', 'too long'];
export const VOLTS_50_HZ = ['230', '400'];
export const VOLTS_60_HZ = ['120', '208', '277', '347', '480', '120-277', '347-480'];
export const VOLTS_FROM_ABOVE = ['supply.volts.how_known'];
export const WAITS = ['unanswered', 'wait', 'new-release'];
export const WARMTH_FROM_FLOOR = ['surroundings.hottest_c', 'surroundings.coldest_c'];
export const WENT_IN = 'went-in-by-hand';
export const WITHDRAWN = 'withdrawn';
export const WITH_THIS = 'convert-with-this-arrangement';
export const WORK_HOURS_FROM_FLOOR = ['work_hours.days', 'work_hours.begins.ends'];
