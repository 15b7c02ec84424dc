/** What if: scenarios as typed, as said to the server, and what they come to. */

type ScenarioNumber =
  | 'tariff_per_kwh'
  | 'escalation_pct'
  | 'discount_pct'
  | 'labour_per_h'
  | 'hours_pct'
  | 'keep_light_pct'
  | 'budget';

type ScenarioTexts = Record<ScenarioNumber, string> & { light_policy: string; without: string[] };

type ScenarioSaid = Partial<Record<ScenarioNumber, number>> & { light_policy?: string; without?: string[] };

interface ScenarioFigures {
  groups: number;
  ready: number;
  open: number;
  left: number;
  not_passing: number;
  cost: number | null;
  rebate: number | null;
  net_cost: number | null;
  npv: number | null;
  simple_payback_years: number | null;
  order_sum: number | null;
  items: number;
  days: number | null;
  minutes: number | null;
  kwh_saved: number | null;
  saving_year: number | null;
  light_pct: number | null;
  light_least_pct: number | null;
}

interface ScenarioTold {
  head: number;
  currency: string;
  today: ScenarioFigures;
  then: ScenarioFigures;
  changed: number;
  over_budget: boolean;
  edits: Array<{ record: string; type: string; facet: string; value: Record<string, unknown> }>;
  decided: Decided[];
}
