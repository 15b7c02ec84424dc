// Which version of the firm's catalogue a building has, what changed since, what taking it does to the plan, and taking it.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { Mark, Problem } from '../../parts/parts.js';
import { valueText } from '../../surveying/facet_rows.js';
import { say } from '../../words.js';
import { Answer, amount, Desk, Table, useServer } from '../parts.js';

/** Differences and groups told one by one on a screen. */
const TOLD_MOST = 60;
/** Who ticks several items in a row is asked about once [ms]. */
const PAUSE_MS = 300;

/** @param {Site} site */
const decides = (site) => ['manager', 'owner'].includes(site.role);

/** Above the tables of a building: what it took, and what has changed. @param {{site: Site, empty: boolean}} props */
export function VersionNotice({ site, empty }) {
  const [turn, setTurn] = useState(0);
  const answer = useServer(`/api/sites/${site.id}/catalogue`, [turn]);
  const told = /** @type {CatalogueStands | undefined} */ (answer.told);
  if (!told) return html`<${Problem} error=${answer.error} />`;
  const changed = told.differences.filter(({ whose }) => whose === 'firm').length;
  return html`<section class="card" aria-label=${say('catalogue.name')}>
    <p>${takenText(told)}</p>
    ${told.firm === null && html`<p class="muted">${say('catalogue.firm-none')}</p>`}
    ${changed > 0 && told.taken && html`<p class="strong">${say(changed === 1 ? 'catalogue.changed-one' : 'catalogue.changed', { number: changed })}</p>`}
    <div class="side-by-side">
      ${empty && changed > 0 && decides(site) && html`<${Take} site=${site} chosen=${null} told=${told} number=${changed} onTaken=${() => setTurn(turn + 1)} />`}
      ${told.differences.length > 0 && html`<a class="button" href=${`/s/${site.id}/desk/catalogue/version`}>${say('catalogue.look')}</a>`}
    </div>
  </section>`;
}

/** @param {CatalogueStands} told */
const takenText = ({ taken, items, own_items: own }) =>
  taken ? say('catalogue.taken', { name: taken.name, items, own }) : say('catalogue.taken-none', { items });

/** @param {{site: Site}} props */
export function CatalogueVersion({ site }) {
  const [turn, setTurn] = useState(0);
  const [taken, setTaken] = useState('');
  const answer = useServer(`/api/sites/${site.id}/catalogue`, [turn]);
  return html`<${Desk} site=${site} at="/catalogue" title=${say('catalogue.version')} back=${`/s/${site.id}/desk/catalogue`}>
    ${taken && html`<div class="saved" role="status"><span>${taken}</span></div>`}
    <${Answer} answer=${answer}>${(/** @type {CatalogueStands} */ told) => html`
      <p>${takenText(told)}</p>
      ${
        told.differences.length === 0
          ? html`<p class="notice">${say(told.firm ? 'catalogue.same' : 'catalogue.firm-none')}</p>`
          : html`<${Choice} key=${`${turn} ${told.firm?.head}`} site=${site} told=${told} onTaken=${(
              /** @type {string} */ said,
            ) => {
              setTaken(said);
              setTurn(turn + 1);
            }} />`
      }`}
    <//>
  <//>`;
}

/** @param {{site: Site, told: CatalogueStands, onTaken: (said: string) => void}} props */
function Choice({ site, told, onTaken }) {
  const firms = told.differences.filter(({ whose }) => whose === 'firm');
  const own = told.differences.filter(({ whose }) => whose === 'own');
  const [chosen, setChosen] = useState(new Set(firms.map(({ item }) => item)));
  /** @param {string} item */
  const toggle = (item) => {
    const next = new Set(chosen);
    if (!next.delete(item)) next.add(item);
    setChosen(next);
  };
  // A tick outside what is shown stays as it is.
  const whole = chosen.size === firms.length && firms.every(({ item }) => chosen.has(item));
  /** @param {ItemDiffers[]} some @param {string} title */
  const list = (some, title) =>
    some.length > 0 &&
    html`<section class="stack" aria-label=${title}><h2>${title}</h2>
      <ul class="rows">${some.slice(0, TOLD_MOST).map((each) => html`<${Difference} key=${each.item} site=${site} each=${each} chosen=${chosen.has(each.item)} onToggle=${() => toggle(each.item)} />`)}</ul>
      ${some.length > TOLD_MOST && html`<p>${say('catalogue.more', { number: some.length - TOLD_MOST })}</p>`}
    </section>`;
  return html`
    ${list(firms, say(firms.length === 1 ? 'catalogue.changed-one' : 'catalogue.changed', { number: firms.length }))}
    ${list(own, say('catalogue.own', { number: own.length }))}
    <${Effects} site=${site} chosen=${whole ? null : [...chosen]} />
    ${
      decides(site)
        ? html`<div class="side-by-side">
            <${Take} site=${site} chosen=${whole ? null : [...chosen]} told=${told} number=${chosen.size} onTaken=${onTaken} />
            <button type="button" class="button" onClick=${() => setChosen(new Set(whole ? [] : firms.map(({ item }) => item)))}>${say(whole ? 'catalogue.choose-none' : 'catalogue.choose-all')}</button>
          </div>`
        : html`<p>${say('catalogue.manager-takes')}</p>`
    }`;
}

/** @param {{site: Site, each: ItemDiffers, chosen: boolean, onToggle: () => void}} props */
function Difference({ site, each, chosen, onToggle }) {
  return html`<li class="row-text">
    <label class="item-check"><input type="checkbox" checked=${chosen} onChange=${onToggle} />
      <span class="strong">${each.code} ${each.name}</span> <${Mark} look=${each.change === 'removed' ? 'attention' : ''}>${say(`catalogue.change-${each.change}`)}<//></label>
    ${each.same_code && html`<span class="detail">${say('catalogue.same-code', { code: each.code })}</span>`}
    ${each.fields.map((field) => html`<span class="detail" key=${`${field.type} ${field.facet} ${field.field}`}>${fieldText(site, field)}</span>`)}
  </li>`;
}

/** What the building has and what the firm has: 'Price, Each: 12.9 → 13.5'. @param {Site} site @param {ItemFieldDiffers} told */
function fieldText(site, { type, facet, field, here, firm }) {
  const { title, fields } = site.spec.records[type]?.facets[facet] ?? { title: facet, fields: {} };
  const spec = fields[field];
  /** @param {unknown} value */
  const text = (value) => {
    if (value === null || value === undefined) return say('catalogue.nothing');
    return spec ? valueText(spec, value) : String(value);
  };
  return say('catalogue.field', {
    facet: title,
    field: spec?.title ?? field,
    here: text(here),
    firm: text(firm),
  });
}

/** What taking would do to the plan, asked for anew a moment after the choice has changed. @param {{site: Site, chosen: string[] | null}} props */
function Effects({ site, chosen }) {
  const money = useLive(() => site.all('money'), [site.id]);
  const [state, setState] = useState(
    /** @type {{told: CatalogueEffects | null, error: unknown}} */ ({ told: null, error: null }),
  );
  const wanted = JSON.stringify(chosen);
  useEffect(() => {
    const gone = new AbortController();
    setState({ told: null, error: null });
    const timer = setTimeout(() => {
      const body = chosen === null ? {} : { items: chosen };
      askServer(`/api/sites/${site.id}/catalogue/effects`, {
        method: 'POST',
        body,
        signal: gone.signal,
      }).then(
        (told) => setState({ told: /** @type {CatalogueEffects} */ (told), error: null }),
        (error) => gone.signal.aborted || setState({ told: null, error }),
      );
    }, PAUSE_MS);
    return () => {
      clearTimeout(timer);
      gone.abort();
    };
  }, [wanted]);
  const { told, error } = state;
  const currency = money?.[0]?.facets.identity?.currency ?? '';
  return html`<section class="stack" aria-label=${say('catalogue.effects')}>
    <h2>${say('catalogue.effects')}</h2>
    <${Problem} error=${error} />
    ${!told && !error && html`<p role="status">${say('catalogue.planning')}</p>`}
    ${told && html`<p role="status">${effectText(told)}</p>`}
    ${
      told &&
      told.told.length > 0 &&
      html`<${Table} caption=${say('catalogue.otherwise')} stacks=${true} numbers=${[4]}
      heads=${['where', 'fixtures', 'now', 'then', 'cost'].map((head) => say(`catalogue.head-${head}`))}
      rows=${told.told
        .slice(0, TOLD_MOST)
        .map((each) => [
          `${each.floor_name} · ${each.room_name} · ${each.mark}`,
          String(each.fixtures),
          each.arrangement_from ?? each.state_from,
          each.arrangement_to ?? each.state_to,
          `${amount(each.cost_from, currency)} → ${amount(each.cost_to, currency)}`,
        ])} />`
    }
    ${told && told.told.length < (told.otherwise ?? 0) && html`<p>${say('catalogue.more', { number: (told.otherwise ?? 0) - Math.min(told.told.length, TOLD_MOST) })}</p>`}
  </section>`;
}

/** @param {CatalogueEffects} told */
function effectText({ groups, using, otherwise }) {
  const used = using.map(({ mark, groups: number }) => `${mark} (${number})`);
  const now = used.length > 0 ? say('catalogue.using', { kinds: used }) : say('catalogue.using-none');
  if (otherwise === null) return `${now} ${say('catalogue.too-many', { groups })}`;
  return `${now} ${say(otherwise === 0 ? 'catalogue.otherwise-none' : 'catalogue.otherwise-number', { number: otherwise, groups })}`;
}

/** @param {{site: Site, chosen: string[] | null, told: CatalogueStands, number: number, onTaken: (said: string) => void}} props `chosen`: null takes all that the firm changed */
function Take({ site, chosen, told, number, onTaken }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const take = async () => {
    setBusy(true);
    setError(null);
    try {
      const body = { head: told.firm?.head, ...(chosen !== null && { items: chosen }) };
      const made = /** @type {{items: number, version: CatalogueVersionTold}} */ (
        await askServer(`/api/sites/${site.id}/catalogue/take`, { method: 'POST', body })
      );
      await store.syncNow();
      onTaken(say('catalogue.taken-now', { items: made.items, name: made.version.name }));
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return html`<div class="stack"><${Problem} error=${error} />
    <button type="button" class="button main" disabled=${busy || number === 0} onClick=${take}>${say(number === 1 ? 'catalogue.take-one' : 'catalogue.take', { number })}</button></div>`;
}
