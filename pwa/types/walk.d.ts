/** How the walk goes: pace, lots that are read again, readings of a kind. */

interface PaceTold {
  stated: number;
  hours: number;
  rooms_hour: number | null;
  fixtures_hour: number | null;
  readings_hour: number | null;
  rooms_done: number;
  rooms_left: number;
  hours_left: number | null;
  least_hours: number | null;
  most_hours: number | null;
}

interface AgainTold {
  group: string;
  room: string;
  room_name: string;
  mark: string;
  position: number;
  row: number;
  cavity: number;
  length_ticks: number;
  again_ticks: number | null;
  is_wrong: boolean | null;
}

interface LotTold {
  by: string;
  instrument: string;
  readings: number;
  sample: number;
  most_wrong: number;
  read: number;
  wrong: number;
  state: 'to-read' | 'accepted' | 'refused';
  curve: Array<[number, number]>;
  spread: { pairs: number; seen_ticks: number; assumed_ticks: number; is_greater: boolean | null } | null;
  left: number;
  again: AgainTold[];
  kinds: Array<{ kind: string; mark: string; left: number; unsettled: number; stands: boolean }>;
}

interface WalkTold {
  head: number;
  pace: PaceTold;
  lots: LotTold[];
  kinds: Array<{ kind: string; mark: string; readings: number; is_never: boolean }>;
}

interface StripTold {
  kind: string;
  mark: string;
  readings: number;
  lengths_ticks: number[];
  low_ticks: number | null;
  high_ticks: number | null;
  trusted_ticks: number | null;
}
