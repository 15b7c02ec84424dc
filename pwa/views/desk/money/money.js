// What money costs on this site: each figure with its unit, an example, and what it changes.

import { useEffect, useState } from 'preact/hooks';
import { KeptForm } from '../../forms/kept_form.js';
import { html } from '../../html.js';
import { idOfName } from '../../name_id.js';
import { useReadAndHeard } from '../../parts/when_heard.js';
import { mayWrite } from '../../record_screens.js';
import { say } from '../../words.js';
import { Desk } from '../parts.js';
import { CONTAINERS, enteredInPart } from './entered_in_part.js';

/** What stands together, in the order in which a bill, a quote and an application are read. @type {Array<[string, string[]]>} */
const SECTIONS = [
  [
    'energy',
    [
      'currency',
      'tariff_per_kwh',
      'demand_per_kw_month',
      'ratchet_pct',
      'meter_peak_kw',
      'escalation_pct',
      'emission_kg_per_kwh',
    ],
  ],
  [
    'heating',
    ['interactive_pct', 'interactive_kw_pct', 'heating_pct', 'heating_per_kwh', 'heating_kg_per_kwh'],
  ],
  ['work', ['labour_per_h', 'lift_per_day']],
  ['travel', ['crew_people', 'crew_day_h', 'travel_h_per_day', 'travel_per_day']],
  ['job', ['mobilisation', 'permit_sum', 'permit_pct']],
  ['disposal', ['lamp_waste_each', 'ballast_waste_each']],
  ['containers', CONTAINERS.flatMap((name) => [`${name}_container_each`, `${name}_container_holds`])],
  ['tax', ['tax_pct', 'tax_on']],
  [
    'upkeep',
    [
      'lamp_each',
      'lamp_life_h',
      'lamp_change_min',
      'ballast_each',
      'ballast_life_h',
      'ballast_change_min',
      'call_out_each',
      'changes_a_call',
    ],
  ],
  ['years', ['discount_pct', 'study_years']],
  ['rebates', ['rebate_per_fixture', 'rebate_per_kw', 'rebate_cap_pct', 'rebate_cap_application']],
];
/** Units that stand after the currency: 'per kWh'. */
const PER = 'per ';
/** Amounts of the currency itself. */
const AMOUNTS = new Set([
  'rebate_per_fixture',
  'rebate_per_kw',
  'rebate_cap_application',
  'lamp_waste_each',
  'ballast_waste_each',
  'lamp_each',
  'ballast_each',
  'call_out_each',
  'mobilisation',
  'permit_sum',
  ...CONTAINERS.map((name) => `${name}_container_each`),
]);

/** @param {{site: Site}} props */
export function Money({ site }) {
  const held = useReadAndHeard(site, () => site.all('money'), [site.id]);
  const known = held?.read[0]?.id;
  return html`<${Desk} site=${site} at="/money" title=${say('money.title')}>
    <p>${say('money.about')}</p>
    ${(known || held?.heard) && html`<${MoneyForm} site=${site} known=${known} />`}
  <//>`;
}

/** The form as it was when it opened; what arrives meanwhile is for the save to judge. @param {{site: Site, known: string | undefined}} props */
function MoneyForm({ site, known }) {
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const [saved, setSaved] = useState(false);
  const open = async () => {
    // Two managers who begin in the same hour meet in one record.
    const id = known ?? (await idOfName(site.id, 'spanwalk:money'));
    setForm(await site.form(id, 'identity'));
  };
  useEffect(() => {
    open();
  }, []);
  if (!form) return null;
  if (!mayWrite(site, 'money')) return html`<p class="notice">${say('money.read-only')}</p>`;
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    const to = { ...value, parent: site.id };
    await site.save([{ record: form.record, type: 'money', facet: 'identity', value: to, seen }]);
    await open();
    setSaved(true);
  };
  const given = {
    fields: fieldsOf(site, form.value.currency),
    sections: sectionsOf(),
    value: form.value,
    save: say('money.save'),
    mind: enteredInPart,
  };
  return html`<${KeptForm} site=${site} name=${`${form.record}.identity`} seen=${form.seen} onSave=${save} form=${given}>
    ${saved && html`<p role="status" class="strong">${say('money.saved')}</p>`}
  <//>`;
}

const sectionsOf = () =>
  SECTIONS.map(([name, fields]) => ({
    title: say(`money.section-${name}`),
    about: say(`money.section-${name}-about`),
    fields,
  }));

/** Fields of the spec with the currency in their units, what each changes, and an example. @param {Site} site @param {string | undefined} currency */
function fieldsOf(site, currency) {
  const { fields } = site.spec.records.money.facets.identity;
  /** @param {string} name @param {SpecField} field */
  const told = (name, { unit, ...field }) => ({
    ...field,
    unit: unitOf(name, unit, currency),
    help: [
      say(`money.changes-${name}`),
      say('money.example', { example: say(`money.example-${name}`) }),
    ].join(' '),
  });
  return Object.fromEntries(Object.entries(fields).map(([name, field]) => [name, told(name, field)]));
}

/** @param {string} name @param {string | undefined} unit @param {string | undefined} currency */
function unitOf(name, unit, currency) {
  if (AMOUNTS.has(name)) return currency;
  return unit?.startsWith(PER) ? [currency, unit].filter(Boolean).join(' ') : unit;
}
