// Values as spec 1 wrote them, choices as their English text: read once more, as codes. Twin: server/spanwalk/spec_1.py.
// Databases and outboxes of that time hold such values; nothing writes them any more. Frozen: nothing is added here.

/** The last spec whose choices were text. */
export const LAST = 1;

/** Fields that held text, by record type and facet. @type {Record<string, Record<string, string[]>>} */
const FIELDS = {
  site: { settings: ['supply_volts', 'light_policy', 'light_standard', 'power_density_code'] },
  room: {
    identity: ['space_type'],
    ceiling: ['ceiling', 'access', 'fire_rated'],
    hours: ['how_known'],
    surroundings: ['moisture', 'hazardous', 'clean_or_food'],
    progress: ['progress'],
  },
  kind: {
    identity: ['alike'],
    housing: ['body', 'material', 'magnet_holds', 'optic', 'optic_state'],
    lamps: ['fitted', 'diameter', 'cap', 'nominal_ft'],
    ballast: ['ballast', 'pcb_mark', 'leaking', 'volts_mark'],
    wiring: ['feeds', 'neighbour_leads', 'control_pair', 'earth'],
  },
  group: {
    supply: ['volts', 'how_known', 'switching', 'shared_neutral'],
    duty: ['emergency', 'control_now', 'dimming'],
    differs: ['housing_material'],
    decision: ['decision'],
  },
  cavity_reading: { identity: ['instrument', 'graduation'], confirmed: ['answer'], set_aside: ['reason'] },
  trial_bar: { identity: ['went_in'] },
  photo: { identity: ['purpose'] },
  installation: { identity: ['checks'] },
  catalogue_item: {
    driver: ['current', 'output_class', 'lead_ends', 'dimming', 'emergency'],
    accessory: ['purpose'],
  },
};

/** The code of each text; a text that is not here is its own code. @type {Record<string, string>} */
const CODES = {
  'not seen': 'not-seen',
  "keep a share of today's light": 'keep-a-share-of-todays-light',
  'meet the target of the space': 'meet-the-target-of-the-space',
  'EN 12464-1:2021': 'en-12464-1-2021',
  'model set-points after IES recommendations, 2019': 'model-set-points-after-ies-recommendations-2019',
  '2019 space by space': '2019-space-by-space',
  '2021 space by space': '2021-space-by-space',
  '2022 space by space': '2022-space-by-space',
  'not said': 'not-said',
  'office open': 'office-open',
  'office enclosed': 'office-enclosed',
  'meeting room': 'meeting-room',
  'plant room': 'plant-room',
  'sports hall': 'sports-hall',
  'library reading': 'library-reading',
  'patient room': 'patient-room',
  'loading dock': 'loading-dock',
  'outdoor covered': 'outdoor-covered',
  'lay-in grid': 'lay-in-grid',
  'concealed grid': 'concealed-grid',
  'exposed structure': 'exposed-structure',
  'concrete soffit': 'concrete-soffit',
  'metal deck': 'metal-deck',
  'owner says': 'owner-says',
  'nothing to convert': 'nothing-to-convert',
  'no access': 'no-access',
  'not sure': 'not-sure',
  'two makes seen': 'two-makes-seen',
  'recessed troffer': 'recessed-troffer',
  'surface box': 'surface-box',
  'industrial reflector': 'industrial-reflector',
  'bare batten': 'bare-batten',
  'prismatic lens': 'prismatic-lens',
  'opal lens': 'opal-lens',
  'parabolic louvre': 'parabolic-louvre',
  'LED tube on the ballast': 'led-tube-on-the-ballast',
  'LED tube on mains': 'led-tube-on-mains',
  'built-in LED': 'built-in-led',
  'single pin': 'single-pin',
  'recessed contact': 'recessed-contact',
  '1.5 ft': '1.5-ft',
  '2 ft': '2-ft',
  '3 ft': '3-ft',
  '4 ft': '4-ft',
  '5 ft': '5-ft',
  '6 ft': '6-ft',
  '8 ft': '8-ft',
  'electronic dimming': 'electronic-dimming',
  'no mark': 'no-mark',
  '120–277': '120-277',
  '347–480': '347-480',
  'ballast here feeds the neighbour': 'ballast-here-feeds-the-neighbour',
  "fed from the neighbour's ballast": 'fed-from-the-neighbours-ballast',
  'd.c.': 'dc',
  'measured at the panel': 'measured-at-the-panel',
  'panel schedule': 'panel-schedule',
  'ballast label': 'ballast-label',
  'all together': 'all-together',
  'two levels': 'two-levels',
  'battery in fixture': 'battery-in-fixture',
  'generator or inverter': 'generator-or-inverter',
  'central battery': 'central-battery',
  '0–10 V': '0-10-v',
  'as the kind': 'as-the-kind',
  'convert as recommended': 'convert-as-recommended',
  'convert with this arrangement': 'convert-with-this-arrangement',
  'leave as is': 'leave-as-is',
  'tape class I': 'tape-class-i',
  'tape class II': 'tape-class-ii',
  'tape class III': 'tape-class-iii',
  'US tape': 'us-tape',
  'gauge goes': 'gauge-goes',
  'gauge does not go': 'gauge-does-not-go',
  '1/16 in': '1-16-in',
  '1/32 in': '1-32-in',
  '1/64 in': '1-64-in',
  '1 mm': '1-mm',
  '0.5 mm': '0.5-mm',
  'it is what the tape shows': 'it-is-what-the-tape-shows',
  'it was read wrong': 'it-was-read-wrong',
  'bent pair': 'bent-pair',
  'damaged socket': 'damaged-socket',
  'went in by hand': 'went-in-by-hand',
  'did not go in': 'did-not-go-in',
  'whole fixture': 'whole-fixture',
  'lamp marking': 'lamp-marking',
  'ballast space': 'ballast-space',
  'leads removed or capped': 'leads-removed-or-capped',
  'sockets proved dead': 'sockets-proved-dead',
  'earth checked': 'earth-checked',
  'label on': 'label-on',
  'shared by the bars': 'shared-by-the-bars',
  'for each output': 'for-each-output',
  'class 2 / SELV': 'class-2-selv',
  'not class 2': 'not-class-2',
  'one end': 'one-end',
  'both ends': 'both-ends',
  'battery pack can be added': 'battery-pack-can-be-added',
  'emergency pack': 'emergency-pack',
  'occupancy sensor': 'occupancy-sensor',
  'daylight sensor': 'daylight-sensor',
  'screw clips': 'screw-clips',
};

/** A site's own figure names its row and its place in it by such texts, joined by this. @type {Record<string, string>} */
const FIGURE_PARTS = { row: ' · ', figure: '/' };

/** Fields that hold figures frozen for crews, with such texts anywhere in them. @type {Record<string, string[]>} */
const FROZEN = { 'conversion.identity': ['frozen'] };
/** What people called a thing: left as it is, whatever it says. */
const NAMES = ['panel', 'circuit', 'second_source', 'name', 'title', 'room', 'mark', 'note'];

/** @param {unknown} value @param {string} [name] @returns {unknown} */
function deep(value, name = '') {
  if (Array.isArray(value)) return value.map((each) => deep(each, name));
  if (value !== null && typeof value === 'object')
    return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, deep(each, key)]));
  return NAMES.includes(name) ? value : codeOf(value);
}

/** @param {unknown} value @returns {unknown} */
function codeOf(value) {
  if (Array.isArray(value)) return value.map(codeOf);
  return typeof value === 'string' ? (CODES[value] ?? value) : value;
}

/**
 * A facet's value with codes where spec 1 wrote text; what holds codes already stays as it is.
 *
 * @param {string} type @param {string} facet @param {import('./types.js').Value} value
 * @returns {import('./types.js').Value}
 */
export function inCodes(type, facet, value) {
  const found = { ...value };
  for (const name of FIELDS[type]?.[facet] ?? []) if (name in found) found[name] = codeOf(found[name]);
  for (const name of FROZEN[`${type}.${facet}`] ?? []) if (name in found) found[name] = deep(found[name]);
  if (type !== 'figure' || facet !== 'identity') return found;
  for (const [name, joint] of Object.entries(FIGURE_PARTS)) {
    if (typeof found[name] === 'string') found[name] = found[name].split(joint).map(codeOf).join(joint);
  }
  return found;
}
