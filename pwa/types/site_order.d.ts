// What the server answers about choosing for many groups: see services/site_order.

interface Decided {
  group: string;
  decision: string;
  arrangement?: string;
}

interface OrderSums {
  groups: number;
  cost: number | null;
  rebate: number | null;
  net_cost: number | null;
  npv: number | null;
  lcc: number | null;
  left_lcc: number;
  order_sum: number | null;
  items: number;
  days: number | null;
  minutes: number | null;
  kwh_saved: number | null;
}

interface OrderChange {
  group: string;
  room_name: string;
  floor_name: string;
  mark: string;
  fixtures: number;
  today: string | null;
  today_state: string;
  best: string | null;
  best_state: string;
  light_today_pct: number | null;
  light_best_pct: number | null;
  decision: string;
  arrangement: string | null;
}

interface OrderDifference {
  head: number;
  currency: string;
  today: OrderSums;
  best: OrderSums;
  saved: number | null;
  each_item: number;
  items: Array<{ code: string; today: number; best: number }>;
  changes: OrderChange[];
  fixed: Record<string, number>;
  gap?: number | null;
  proved?: boolean;
  seconds?: number;
  found?: boolean;
  today_keeps?: boolean;
  stuck?: string[];
}

interface OrderStep {
  step: string;
  done?: number;
  of?: number;
  saved?: number | null;
  items?: number | null;
  gap?: number | null;
  proved?: boolean;
  seconds?: number;
  decided?: Decided[];
  answer?: OrderDifference;
  code?: string;
  facts?: Facts;
  detail?: string;
}

interface OrderScope {
  floor?: string;
  room?: string;
  kind?: string;
  space_type?: string;
  /** What is chosen here by money, and the server is not asked. */
  pays?: string;
}

interface OrderAsked {
  what: 'best' | 'recommended' | 'leave' | 'defer';
  scope: OrderScope;
  each_item: string;
  budget: string;
  least_light_pct: string;
  bars_each: string;
  same_look: boolean;
  one_colour: boolean;
  no_dark_columns: boolean;
  keep_decided: boolean;
  items: string[] | null;
  seconds: number;
}

/** A group whose part of the job's value is below nought. */
interface GroupNotPaying {
  group: string;
  room_name: string;
  mark: string;
  fixtures: number;
  npv_share: number;
}

/** `groups`: nobody has decided on them; `kept`: somebody decided to convert them all the same. */
interface NotPayingTold {
  head: number;
  currency: string;
  groups: GroupNotPaying[];
  kept: GroupNotPaying[];
  gain: number | null;
}
