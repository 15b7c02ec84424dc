// The plans of a floor with pins on them: a part for any screen that shows where something is. It saves nothing.

import { useEffect, useRef, useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { WHOLE } from '../photos/geometry.js';
import { Zoomable } from '../photos/zoomable.js';
import { say } from '../words.js';
import { plansOf } from './reading.js';

/** @typedef {import('./pins.js').Pin} Pin */
/** @typedef {import('../photos/geometry.js').Point} Point */

/** @param {number} part of 10,000 */
const percent = (part) => `${(part * 100) / WHOLE}%`;

/**
 * Nothing where the floor has no plan. Works without a signal: plans are kept on the phone.
 *
 * @param {object} props
 * @param {Site} props.site
 * @param {string} props.floor id of the floor
 * @param {Pin[]} props.pins of all its plans
 * @param {(id: string) => void} props.onPin a pin was tapped
 * @param {string | null} [props.chosen] id of the pin that is spoken of; its plan is shown
 * @param {(at: {plan: string} & Point) => void} [props.onPlace] the plan was tapped; without it nothing happens there
 * @param {(key: string) => boolean} [props.onKey] a key on the plan, before it scrolls; true: it was for something else
 */
export function FloorPlan({ site, floor, pins, onPin, chosen = null, onPlace, onKey }) {
  const plans = useLive(() => plansOf(site, floor), [floor]);
  const [wanted, setWanted] = useState(/** @type {string | null} */ (null));
  const spokenOf = pins.find(({ id }) => id === chosen)?.plan;
  // What has no pin yet is placed on the plan that one has before oneself.
  useEffect(() => {
    if (spokenOf) setWanted(spokenOf);
  }, [spokenOf, chosen]);
  const sheet = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    const view = /** @type {HTMLElement | null} */ (sheet.current?.querySelector('.zoom-view') ?? null);
    if (!chosen || !onPlace || !view) return;
    view.scrollIntoView({ block: 'nearest' });
    // The arrow keys move what is placed.
    view.focus({ preventScroll: true });
  }, [chosen]);
  if (!plans?.length) return null;
  const shown = plans.find(({ id }) => id === wanted) ?? plans[plans.length - 1];
  /** @param {Point} point */
  const place = (point) => onPlace?.({ plan: shown.id, ...point });
  return html`<section class="stack" aria-label=${say('floor-plan.plan')} ref=${sheet}>
    ${
      plans.length > 1 &&
      html`<div class="side-by-side" role="group" aria-label=${say('floor-plan.which')}>
        ${plans.map((plan, at) => html`<button type="button" key=${plan.id} class="button" aria-pressed=${plan.id === shown.id} onClick=${() => setWanted(plan.id)}>${planName(plan, at)}</button>`)}
      </div>`
    }
    <${Sheet} key=${shown.id} site=${site} plan=${shown} name=${planName(shown, plans.indexOf(shown))} pins=${pins.filter(({ plan }) => plan === shown.id)}
      chosen=${chosen} onPin=${onPin} onKey=${onKey} onPlace=${onPlace ? place : undefined} />
  </section>`;
}

/** @param {RecordView<'photo'>} plan @param {number} at its place among the floor's */
export const planName = (plan, at) =>
  plan.facets.caption?.caption || say('floor-plan.number', { number: at + 1 });

/** @param {{site: Site, plan: RecordView<'photo'>, name: string, pins: Pin[], chosen: string | null, onPin: (id: string) => void, onPlace?: (point: Point) => void, onKey?: (key: string) => boolean}} props */
function Sheet({ site, plan, name, pins, chosen, onPin, onPlace, onKey }) {
  const { sha256 = '', width_px: width = 4, height_px: height = 3 } = plan.facets.identity ?? {};
  const url = useLive(() => site.photoUrl(sha256), [sha256]);
  if (url === undefined) return null;
  if (url === null) return html`<p class="notice">${say('floor-plan.not-here')}</p>`;
  return html`<${Zoomable} label=${name} ratio=${width / height} onPoint=${onPlace} onKey=${onKey}>
    <img src=${url} alt="" />
    ${pins.map((pin) => html`<${PinButton} key=${pin.id} pin=${pin} isChosen=${pin.id === chosen} onPin=${onPin} />`)}
  <//>`;
}

/** @param {{pin: Pin, isChosen: boolean, onPin: (id: string) => void}} props */
function PinButton({ pin, isChosen, onPin }) {
  /** @param {Event} event */
  const tap = (event) => {
    event.stopPropagation();
    onPin(pin.id);
  };
  const at = { '--x': percent(pin.x), '--y': percent(pin.y) };
  return html`<button type="button" class="pin ${pin.look ?? ''} ${pin.word ? 'has-word' : ''}" style=${at} aria-label=${pin.name} aria-current=${isChosen ? 'true' : null} onClick=${tap}>
    <span>${pin.label}${pin.word && html` <strong>${pin.word}</strong>`}</span>
  </button>`;
}
