// What the rules say of a group's readings; meanings stand in the twins under server/spanwalk/rules. Lengths [1/320 mm].

/** The length that every cavity of a group has, and what it rests on (`trustedCavity`). */
type Trusted = {
  status: string;
  trusted_ticks: number | null;
  basis: string | null;
  read_ticks: number | null;
  read_basis: string | null;
  spring_back: string | null;
  n: number;
  m: number | null;
  population: number | null;
  terms: Record<string, number>;
  reasons: Reason[];
  could_be_shorter: number | null;
};

/** What trials of one row of bars come to. */
type TrialTold = {
  tried: number;
  left: number | null;
  could_refuse: number | null;
  close: number;
  next: import('../rules/fit/sampling.js').Place | null;
  settles: boolean;
};

/** The verdict on bars end to end in one cavity, by its terms (`fitRow`). */
type RowVerdict = {
  verdict: string;
  clearance_ticks: number | null;
  terms: Record<string, number>;
  reasons: Reason[];
};

/** One row of bars with all that is said of it. */
type Fit = RowVerdict & {
  /** Items end to end, by id. */
  bars: string[];
  lit_ticks: number;
  dark_ticks: number | null;
  unsuited: Reason[];
  /** What nobody has seen yet and may stand against it. */
  unsure: Reason[];
  basis: string | null;
  trial?: TrialTold;
  /** A trial of it did not go in. */
  refused?: boolean;
  /** How sure its verdict is, where a screen shows it. */
  degree?: Degree;
};

/** What reading some more cavities buys. */
type MoreBuys = {
  trusted_ticks: number | null;
  m: number;
  could_be_shorter: number | null;
  bars: string[];
};

/** In how many cavities each way would settle a tight row of bars; null where it would not. */
type ToSettle = {
  by_tape: number | null;
  by_gauge: number | null;
  by_trial: number | null;
  needed_ticks: number;
};

/** The strongest next step, with the row of bars to try. */
type NextStep = ToSettle & { bars: string[]; by_lamp: boolean };

/** How sure a verdict is, what holds it back, of how many cavities it was read (`degreeOf`). */
type Degree = {
  degree: string;
  releasable: boolean;
  held_by: Reason[];
  n: number;
  of: number | null;
  next: NextStep | null;
};

/** What the firm's closed sites change in a group (`firmEffect`); `verdict_without` them on the best row of bars. */
type FirmEffect = {
  state: string;
  sites: number;
  readings: number;
  readings_with: number | null;
  readings_without: number | null;
  verdict_without?: string;
};

/** All that is said of a group (`judgeGroup`). */
type Judgement = {
  rules_version: string;
  trusted: Trusted;
  questions: Record<string, Reason[]>;
  fits: Fit[];
  /** Place of the best among the fits; null where nothing can be told. */
  best: number | null;
  measure_more: number | null;
  more_buys: MoreBuys | null;
  /** What in the readings holds back a 'fits', whichever bar it is. */
  held_by: Reason[];
  to_settle: ToSettle | null;
  /** Only where the site takes the firm's numbers. */
  firm?: FirmEffect;
  /** How sure the best verdict is, where a screen shows it. */
  degree?: Degree;
};

/** What it costs if a row of bars does not go in; null where a price is missing. */
type Misfit = {
  lift_cents: number | null;
  bars_cents: number | null;
  labour_cents: number | null;
  total_cents: number | null;
  missing: string[];
  needs_lift: boolean;
};
