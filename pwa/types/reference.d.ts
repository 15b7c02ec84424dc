// The reference tables as the page reads them (seed_data/reference); each row says where its figures come from.

type Sourced = { source: string; edition: string; how_known: string };

/** A lamp's dimensions between caps [0.1 mm]. */
type LampSize = Sourced & {
  diameter: string;
  cap: string;
  nominal_ft: string;
  a_max_tenths_mm: number;
  b_min_tenths_mm: number;
  b_max_tenths_mm: number;
  c_max_tenths_mm: number;
};

/** Which values within a facet are held against each other. */
type CombinationRow = Sourced & {
  type: string;
  facet: string;
  rule: string;
  field: string;
  /** Each rule's rows have what that rule reads; those of other rules do not. */
  other: string;
  volts: string;
  pairs: Record<string, string[]>;
  values?: string[];
  when: string[];
  times: number;
};

/** What a change of a field means for a conversion that is released. */
type StandingRow = Sourced & {
  record: string;
  facet: string;
  field: string;
  class: 'stop' | 'look' | 'judged' | 'ignored' | 'harmless';
  why: string;
  harmless?: string[];
};

/** A caution that a released card gets where it lacks it and the survey says all of `when` by now. */
type StandingCaution = Sourced & {
  caution: string;
  steps: string[];
  when: Record<string, string[]>;
};

/** Figures of the reference tables; `prediction` comes with the first site that is opened. */
type Reference = {
  lamps: {
    sizes: LampSize[];
    loose_bands: (Sourced & { what: string; share_pct: number })[];
    spring_back: (Sourced & { what: string; ticks: number })[];
    spring_back_tools: (Sourced & { instrument: string; graduation_ticks: number })[];
  };
  instruments: {
    tapes: (Sourced & { instrument: string; a_tenths_mm: number; b_tenths_mm: number; c_tenths_mm: number })[];
    us_tapes: (Sourced & { instrument: string; up_to_ft: number; limit_64ths_in: number })[];
    graduations: (Sourced & { graduation: string; graduation_ticks: number })[];
    repeatability: (Sourced & { repeatability_tenths_mm: number })[];
    gauges: (Sourced & { instrument: string; limit_tenths_mm: number })[];
  };
  expansion: {
    reference_c: number;
    bars: (Sourced & { cover: string; material: string; coefficient: number })[];
    housings: (Sourced & { material: string; least: number; most: number })[];
    assumed: Sourced & { coldest_c: number; hottest_c: number };
  };
  prediction: Sourced & {
    confidence_pct: number;
    n: number[];
    degrees: number[];
    m: number[];
    conflicts: number[][];
    factors: number[][][];
  };
  combinations?: { rows: CombinationRow[] };
  standing: { rows: StandingRow[]; cautions: StandingCaution[] };
};
