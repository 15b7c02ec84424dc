// What the server writes: above service-worker.js, into records that it freezes, and as answers to the desk.
declare const VERSION: string;
declare const PRECACHE: Record<string, string>;
declare const LATER: Record<string, string>;

/** A sentence of the words files, by its code. */
type Told = { code: string; facts: Record<string, unknown> };

// -- frozen in a release: the card of one fixture (server/spanwalk/rules/arrangements/card/crew_card.py). Lengths [1/320 mm].

/** A bar on an output: in this body (`here`) or the `neighbour`'s. */
type WiredBar = { body: 'here' | 'neighbour'; row: number; cavity: number; place: number; bar: string };
type WiredOutput = { output: number; joined: string; bars: WiredBar[] };
type WiredDriver = {
  driver: string;
  number: number;
  setting_ma: number;
  set_by: string;
  hold: string;
  lead_ends: string;
  lead_gap_ticks: number | null;
  length_ticks: number | null;
  outputs: WiredOutput[];
  spare_outputs: number[];
};
type CardRow = {
  row: number;
  cavities: number;
  bars: { name: string; length_ticks: number; lit_ticks: number }[];
  gap_each_end_ticks: number | null;
  dark: boolean;
};
/** The emergency duty of a group and what does it. */
type CardEmergency = {
  duty: string;
  positions: number[];
  wanted_min?: number | null;
  old_battery?: string;
  old_pack?: string;
  unswitched_feed_seen?: string;
  second_source?: string;
  dc_volts?: number | null;
  pack?: {
    pack: string;
    lasts_min: number;
    then_lm?: number;
    today_lm?: number;
    row?: number;
    place?: number;
  } | null;
};
/** A step of the work with its lines and cautions; with `positions` where it is for some fixtures only. */
type CardLine = Told & { positions?: number[] };
type CardStep = CardLine & { lines?: CardLine[]; cautions?: string[] };
type CardAccessory = { name: string; purpose: string; in_the_group: number; positions?: number[] };
/** The body on the same ballast. */
type CardPartner = { group: string; room: string; mark: string };
/** What a release froze of one group; of an old release parts are missing. */
type Card = {
  arrangement: string;
  kind: string;
  remove?: { lamps: number; lamp: string; ballasts: number; ballast: string; pcb: string };
  cavity_ticks: number;
  rows: CardRow[];
  bars_each: number;
  bars_held?: string;
  fit?: Record<string, unknown>;
  driver?: { name: string; title: string; number: number; setting_ma: number; bars_on_each: number } | null;
  wiring: WiredDriver[];
  fed_from_neighbour?: boolean;
  feeds_neighbour?: boolean;
  feeds?: string;
  supply?: { volts?: string; panel?: string; circuit?: string; switching?: string };
  control?: { wanted: string; pair: string; driver: boolean };
  emergency?: CardEmergency;
  accessories?: CardAccessory[];
  cautions?: string[];
  cautions_at?: Record<string, number[]>;
  steps?: CardStep[];
  stops?: CardLine[];
  checks?: string[];
  checks_at?: { check: string; positions: number[] }[];
  partner?: CardPartner;
  site_values?: Told[];
};

/** What the facets of a group and what it hangs on said when it was released. */
type FrozenRecords = Partial<Record<'group' | 'kind' | 'room' | 'site', Record<string, import('./records.d.ts').Value>>>;
/** What later records are held against; `bars`, `drivers`, `packs` and `others` are item ids. */
type FrozenFacts = FrozenRecords & {
  arrangement?: string;
  bars: string[];
  drivers?: string[];
  packs?: string[];
  others?: string[];
  ways?: number[][];
  fit?: { verdict: string };
  spread?: { squares_ticks2: string; degrees: number };
  readings?: number;
  questions?: string[];
  conflicts?: string[];
  partner?: string;
};
/** The verdict that a surveyor saw when saving a reading; written by the page, kept as it is. */
type VerdictSeen = { verdict: string; n: number; bars: string[]; trials?: number };
/** What a release froze of a catalogue item. */
type FrozenItem = { code?: string; seq?: number } & Partial<Record<'bar' | 'driver' | 'accessory', import('./records.d.ts').Value>>;

/** One thing that is otherwise than when a conversion was released. */
type ChangeTold = {
  fact: string;
  weight: string;
  // A field of any record, as it was and as it is.
  before: unknown;
  now: unknown;
  about?: string;
  by?: string;
  at?: string;
};

// -- answers to the desk

/** What money hangs on, by what varies: net present value below and above. */
type Swings = Record<string, SwingTold[]> | null;
type SwingTold = Record<string, number | null>;

/** A check of an arrangement with its numbers. */
type CheckTold = Told & { check: string; verdict: string };
/** Figures of the years looked at with their terms (server/spanwalk/rules/money/life_cycle.py). */
type LifeTold = {
  terms: Record<
    | 'energy_worth'
    | 'upkeep_worth'
    | 'short_worth'
    | 'replaced_worth'
    | 'residual_worth'
    | 'upkeep_year'
    | 'residual',
    number
  > & { replaced: { year: number; cost: number }[] };
  measures: {
    npv: number;
    savings_worth: number;
    investment_worth: number;
    sir: number | null;
    airr_share: number | null;
    irr_share: number | null;
    simple_payback_years: number | null;
    discounted_payback_years: number | null;
    flows: number[];
    worth_so_far: number[];
  };
  net_cost: number;
  saving_year: number;
  discount_share: number;
  escalation_share: number;
  study_years: number;
};
/** A candidate: what is fitted and how it is set, what it draws, costs and saves. */
type Arrangement = {
  arrangement: string;
  verdict: string;
  watts: number;
  fit?: Fit;
  light: { then_lm?: number | null; share_of_today_pct?: number; lux?: number };
  energy: Record<
    'kwh_now' | 'kwh_then' | 'kw_saved' | 'emission_saved_kg' | 'kwh_saved' | 'heating_kwh',
    number | null
  >;
  money: {
    cost: number | null;
    rebate: number | null;
    lcc: number | null;
    npv: number | null;
    missing: string[];
    sensitivity?: Swings;
    life_told?: LifeTold;
  };
  emergency: CardEmergency | null;
  checks: CheckTold[];
};
/** Why a group is not converted by this method, and what to do. */
type InsteadTold = Told & { instead: string };
/** The plan of one group, whole (server/spanwalk/rules/arrangements/plan.py). */
type GroupPlan = {
  group: string;
  state: string;
  blockers: Told[];
  instead: InsteadTold[];
  site_values: Told[];
  from_memory: Told[];
  partner: CardPartner | null;
  proposal: Arrangement | null;
  wiring_told: Told[];
  side_by_side: Record<string, string[]>;
  feasible: Arrangement[];
  feasible_count: number;
  rejected: (Told & { arrangement: string })[];
  why: Told[];
  cautions: string[];
  wanted: { code: string; [fact: string]: unknown };
  /** By which readings of light it is corrected; none where none counts. */
  corrected: Told | null;
  density: Record<string, unknown> | null;
  leni: Record<string, unknown> | null;
  uncounted: string[];
  money_told: Told[];
  now: { assumed?: string[]; sources?: { source: string; how_known: string; edition: string }[] } | null;
  trial: string | null;
  room_light?: RoomLight;
  light_terms?: Record<'today' | 'new', LightTerm[]>;
  read_of_kind?: { fixtures: number; is_enough: boolean };
};
/** A term of a light, from where, and how it is known; no source where that says it all. */
type LightTerm = { term: string; value: number; source: string; how_known: string };
/** Mean light of a room [lx] with its range, what is wanted of it, and what was read at so many points. */
type RoomLight = {
  found: { lux: number; low: number; high: number } | null;
  all_burning: { lux: number; low: number; high: number } | null;
  wanted: number | null;
  day_one: { lux: number; low: number; high: number } | null;
  maintained: { lux: number; low: number; high: number } | null;
  years: number;
  read_before: { lux: number; points: number; left_out: number } | null;
  read_after: { lux: number; points: number; left_out: number } | null;
  rooms: number;
  grid: { along: number; across: number; cell_m: number } | null;
  spacing_to_height: number | null;
  task: TaskLight | null;
  says: Told[];
};
/** The light on a task area [lx], each from the least to the most it may be; `around` is the maintained light of its surrounding. */
type TaskLight = {
  length_ticks: number;
  width_ticks: number;
  found: { low: number; high: number } | null;
  all_burning: { low: number; high: number } | null;
  day_one: { low: number; high: number } | null;
  maintained: { low: number; high: number } | null;
  around: { low: number; high: number } | null;
  wanted: number | null;
  says: Told[];
};
/** One line about a group in the plan of a site. */
type GroupInShort = {
  group: string;
  room: string;
  room_name: string;
  floor: string | null;
  floor_name: string;
  kind: string;
  mark: string;
  note: string;
  fixtures: number;
  state: string;
  blockers: Told[];
  instead: InsteadTold[];
  site_values: Told[];
  arrangement: string | null;
  verdict?: string;
  watts_now?: number | null;
  watts_then?: number;
  share_of_today_pct?: number | null;
  share_of_all_burning_pct?: number | null;
  cost?: number | null;
  rebate?: number | null;
  saving_year?: number | null;
  simple_payback_years?: number | null;
  npv?: number | null;
  lcc?: number | null;
  cost_share?: number;
  rebate_share?: number;
  npv_share?: number | null;
};
type FloorOfPlan = {
  floor: string | null;
  floor_name: string;
  groups: number;
  ready: number;
  released: number;
  cost_share: number | null;
  rebate_share: number | null;
  npv_share: number | null;
};
type QuantityTold = {
  item: string;
  code: string;
  fitted: number;
  spare: number;
  for_misfits: number;
  order: number;
  why: Told | null;
  pack_size: number;
  packs: number;
  bought: number;
  left_over: number;
  price: number | null;
  sum: number | null;
  lead_days: number | null;
};
type SumsOfMoney = Record<'cost' | 'rebate' | 'saving_year' | 'npv', number | null>;
/** A part of what a job costs, with where it comes from. */
type CostLine = {
  what: string;
  amount: number;
  facts?: {
    number?: number;
    each?: number;
    amount?: number;
    holds?: number;
    sum?: number;
    pct?: number;
    of?: number;
    taxed?: string;
  };
};
/** Money of the job: what the groups come to alone, and what doing them together changes. */
type JobMoney = SumsOfMoney & {
  sensitivity: Swings;
  alone: SumsOfMoney;
  lines: CostLine[];
  steps: { what: string; by: number }[];
  days_alone: number | null;
  days: number | null;
  life: LifeTold | null;
};
type PlanTotals = {
  groups: number;
  fixtures: number;
  quantities: QuantityTold[];
  order_sum: number | null;
  without_shorter: Told | null;
  energy: Arrangement['energy'];
  money: JobMoney;
  minutes: number | null;
  waste: {
    lamps: Record<string, number>;
    lamp_classes: Record<string, number>;
    ballasts: Record<string, number>;
    batteries: Record<string, number>;
    starters: number;
  };
  site_values: Told[];
  from_memory: Told[];
  mixed_looks: Told[];
};
type GroupsOfPlan = { head: number; groups: GroupInShort[]; next: number | null };
type SitePlan = GroupsOfPlan & {
  rules_version: string;
  floors: FloorOfPlan[];
  catalogue: string | null;
  totals: PlanTotals;
};

/** What a release made, and what it left out. */
type ReleaseMade = {
  release: string;
  number: number;
  released: string[];
  unchanged: string[];
  left_out: GroupInShort[];
  done: { group: string; positions: number[] }[];
  out: { group: string; room_name: string; mark: string; standing: string; changes: ChangeTold[] }[];
};
/** One of the two that are compared: `number` is null for today; `missing` are releases without frozen sums. */
type ReleaseSide = {
  name: string;
  number: number | null;
  made_at: string;
  groups: number;
  fixtures: number;
  missing: number[];
};
type GroupDifference = {
  group: string;
  floor_name: string;
  room_name: string;
  mark: string;
  what: 'added' | 'gone' | 'changed';
  fields: { name: string; from: unknown; to: unknown }[];
  cost_from: number | null;
  cost_to: number | null;
  standing: string | null;
  changes: ChangeTold[];
};
type Differences = {
  from: ReleaseSide;
  to: ReleaseSide;
  currency: string;
  groups: GroupDifference[];
  same: number;
  items: { item: string; code: string; from: number; to: number; more: number }[];
  money: { name: string; from: number | null; to: number | null; more: number | null }[];
};

/** What a site says instead of a figure of the tables; `wrong`: why it cannot be used. */
type OwnFigure = {
  record: string;
  table: string;
  row: string;
  figure: string;
  value: number;
  reason: string;
  source: string;
  by: string;
  on: string;
  wrong: Told | null;
};
type FigureTold = {
  figure: string;
  title: string;
  unit: string;
  value: number;
  source: string;
  edition: string;
  how_known: string;
  least: number | null;
  most: number | null;
  whole: boolean;
  own: OwnFigure | null;
};
type FigureRow = { row: string; figures: FigureTold[] };
type FigureTable = { table: string; title: string; fixed?: string; rows: FigureRow[] };
/** A row that another site of this person offers. */
type OfferedRow = {
  record: string;
  site: string;
  sort: 'lamp' | 'ballast' | 'body' | 'space';
  row: string;
  facets: Record<string, Record<string, unknown>>;
};
type SiteFigures = {
  tables: FigureTable[];
  not_used: OwnFigure[];
  rows_not_used: { record: string; row: string; why: string }[];
  offered: OfferedRow[];
};

/** One test of one emergency fixture, or that it has none. */
type EmergencyLine = {
  group: string;
  floor_name: string;
  room_name: string;
  mark: string;
  position: number;
  duty: string;
  pack: string | null;
  second_source: string | null;
  release: number | null;
  state: string;
  newest: boolean;
  indicator: string | null;
  minutes: number | null;
  wanted_min: number | null;
  due_on: string | null;
  by: string | null;
  noted_at: string | null;
  note: string | null;
};
/** A site in the list of one's own. */
type SiteListed = {
  id: string;
  name: string;
  kind: 'building' | 'catalogue';
  role: string;
  archived_at: string | null;
  rooms: number;
  rooms_done: number;
  fixtures: number;
  people: number;
  heard_at: string | null;
  unsent: number;
};
/** What goes when a site is deleted. */
type SiteContents = {
  name: string;
  records: Record<string, number>;
  operations: number;
  held: number;
  photos: number;
  photo_bytes: number;
  people: number;
  phones: number;
  unsent: number;
};
/** What changed in the firm's catalogue since a site took it. */
type CatalogueVersionTold = { catalogue: string; sequence: number; name: string; left: number };
type ItemFieldDiffers = { type: string; facet: string; field: string; here: unknown; firm: unknown };
type ItemDiffers = {
  item: string;
  sort: string;
  code: string;
  name: string;
  change: 'new' | 'changed' | 'removed' | 'removed-here';
  whose: 'firm' | 'own';
  same_code: boolean;
  fields: ItemFieldDiffers[];
};
type CatalogueStands = {
  taken: CatalogueVersionTold | null;
  firm: { id: string; head: number; items: number } | null;
  items: number;
  own_items: number;
  differences: ItemDiffers[];
};
type PlannedOtherwise = {
  group: string;
  room_name: string;
  floor_name: string;
  mark: string;
  fixtures: number;
  state_from: string;
  state_to: string;
  arrangement_from: string | null;
  arrangement_to: string | null;
  cost_from: number | null;
  cost_to: number | null;
};
type CatalogueEffects = {
  groups: number;
  using: Array<{ kind: string; mark: string; groups: number }>;
  otherwise: number | null;
  told: PlannedOtherwise[];
};
type ItemUse = {
  item: string;
  groups: number;
  fixtures: number;
  decided: number;
  trial_bars: number;
  releases: number[];
  sites: Array<{ id: string; name: string }>;
};
type PersonOfSite = { id: string; name: string; role: string | null; state: 'active' | 'disabled' | 'left' };
/** Someone of the firm, as its owners see them. */
type PersonOfFirm = {
  id: string;
  name: string;
  owner: boolean;
  state: 'active' | 'disabled' | 'left';
  state_since: string | null;
  has_password: boolean;
  factors: number;
  anonymised: boolean;
  sites: Array<{ id: string; name: string; role: string }>;
};
/** A one-time link as it is listed, without its secret. */
type LinkListed = {
  id: string;
  kind: 'invite' | 'reset';
  role: string | null;
  note: string | null;
  name: string | null;
  made_by: string | null;
  made_at: string;
  expires_at: string;
  state: 'open' | 'used' | 'withdrawn' | 'expired';
};
type DeviceTold = {
  id: string;
  name: string;
  operations: number;
  photos: number;
  since: string | null;
  seen_at: string;
  revoked_at: string | null;
  /** Null: not heard of since phones are enrolled. */
  phone: string | null;
  kind: 'phone' | 'computer' | null;
  this: boolean;
};
/** A phone that one has signed in on (server/spanwalk/services/people/phones.py). */
type OwnPhone = {
  id: string;
  kind: 'phone' | 'computer';
  copies: string[];
  signed_in_at: string;
  seen_at: string;
  operations: number;
  photos: number;
  shut_out: boolean;
  this: boolean;
  sessions: Array<{ id: string; created_at: string; seen_at: string; this: boolean }>;
};
/** A phone as the firm's owners see it. */
type PhoneOfFirm = {
  id: string;
  kind: 'phone' | 'computer';
  copies: string[];
  people: string[];
  signed_in_at: string;
  seen_at: string;
  operations: number;
  photos: number;
  shut_out_at: string | null;
  this: boolean;
};
/** A code for a second phone, told once (server/spanwalk/services/people/enrolling.py). */
type EnrolmentMade = { id: string; address: string; qr: string[]; expires_at: string };
type HandoverOpen = { floor_name: string; room_name: string; what: string; text: string };
type HandoverTold = {
  fixtures: number;
  done: number;
  left_out: number;
  photos: number;
  releases: number;
  tests_open: number;
  open: HandoverOpen[];
  open_in_all: number;
  closed: number;
  accepted: HandoverAccepted[];
};
/** How a file of the hand-over stands, and what of it can be taken away (server/spanwalk/services/handover_files). */
type HandoverFileTold = {
  what: string;
  with_money: boolean;
  state: string;
  done: number;
  total: number;
  why: { code: string; facts: Facts } | null;
  kept: { made_at: string; bytes: number; sha256: string; changes: number } | null;
};
type HandoverAccepted = {
  id: string;
  covers: string;
  name: string;
  day: string;
  how: string;
  content: string;
  whole: boolean;
  fixtures: number;
  done: number;
  open: number;
  holds: boolean;
  changes: number;
};

// -- orders (server/spanwalk/services/ordering)

type FloorPieces = { floor: string; pieces: number; wanted_on: string | null };
/** A line of an order, as it is kept: fewer are below nought. */
type OrderLine = {
  item: string;
  code: string;
  name?: string;
  supplier_number?: string;
  lead_days?: number;
  change: string;
  pieces: number;
  pack_size: number;
  packs: number;
  floors: FloorPieces[];
  spare: number;
  for_misfits: number;
  left_over: number;
  wanted_on?: string;
};
type OrderFigures = {
  currency: string;
  lines: Array<{ item: string; price: number | null; sum: number | null }>;
  sum: number | null;
};
type DraftOrder = {
  supplier: string;
  sort: string;
  against: number | null;
  lines: OrderLine[];
  figures: OrderFigures;
};
type OrdersDraft = {
  release: number;
  floors: string[];
  orders: DraftOrder[];
  over: Array<{ item: string; code: string; pieces: number }>;
  cautions: Array<{ code: string; facts: Facts }>;
  content: string;
};
type OrdersMade = { orders: Array<{ order: string; number: number; supplier: string }> };

type EmergencyTests = { fixtures: number; open: number; lines: EmergencyLine[] };

// -- files brought in (server/spanwalk/services/files/imports.py)

type FileColumn = { name: string; title: string; must: boolean; measures: string };
type FileKind = { kind: string; columns: FileColumn[] };
type FileInShort = {
  id: string;
  kind: string;
  name: string;
  by: string;
  state: string;
  made_at: string;
  row: number;
  rows: number;
  counts: { new: number; changed: number; left: number };
};
type FilesTold = { kinds: FileKind[]; imports: FileInShort[] };
type FileHead = {
  letters: string;
  head: string;
  column: string;
  unit: string;
  units: string[];
  by_hand: boolean;
  samples: string[];
};
type FileQuestion = Told & { about: 'sheet' | 'decimal' | 'unit'; head: string; choices: string[] };
type FileProblem = Told & { row: number; column: string; head: string };
type FilePart = { title: string; field: string; from: unknown; to: unknown };
type FileLine = { row: number; state: string; what: string; fields: FilePart[] };
/** A file with all that is known of it; before it was looked at, parts are missing. */
type FileState = FileInShort & {
  sheet?: string;
  head_row?: number;
  decimal?: string;
  columns?: FileHead[];
  questions?: FileQuestion[];
  notes?: Told[];
  problems?: FileProblem[];
  problems_in_all?: number;
  lines?: FileLine[];
  lines_in_all?: number;
  wrong?: Told;
  undone?: { taken_back: number; left: Array<{ record: string; type: string; why: string }> };
};
