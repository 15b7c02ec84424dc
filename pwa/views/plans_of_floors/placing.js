// Saying where something is: a tap on the plan, arrows that move it a little, undo, and on to the next.

import { useEffect, useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { Nudges } from '../photos/arrow.js';
import { nudged, STEPS, WHOLE } from '../photos/geometry.js';
import { say } from '../words.js';
import { pinOf } from './pins.js';
import { groupsToPlace } from './reading.js';

/** @typedef {import('./reading.js').Placeable} Placeable */
/** @typedef {{plan: string} & import('../photos/geometry.js').Point} At */

/**
 * What is being placed, and what places it; each change is saved at once.
 *
 * @param {Site} site @param {string | null} id room or group @param {Placeable[]} known of which much is read already
 * @param {RecordView<'photo'>[]} plans of the floor
 */
export function usePlacing(site, id, known, plans) {
  const [told, setTold] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const other = useLive(() => unknownGroup(site, id, known, plans), [id, known.length]);
  useEffect(() => {
    setTold(0);
    setError(null);
  }, [id]);
  const of = known.find((each) => each.id === id) ?? other ?? null;
  const now = of?.where === 'placed' ? pinOf(of.record) : null;
  /** @param {At | null} at */
  const save = (at) => {
    if (!of) return;
    setError(null);
    const { id: record, type, seen } = of.record;
    site
      .save([{ record, type, facet: 'pin', value: at ?? {}, seen: seen.pin ?? null }])
      .then(() => setTold((before) => before + 1), setError);
  };
  /** @param {string} key @returns {boolean} whether it moved the pin */
  const key = (key) => {
    const plan = now?.plan ?? plans.at(-1)?.id;
    if (!of || !STEPS[key] || !plan) return false;
    // Who cannot tap begins in the middle.
    save(now ? { plan, ...nudged(now, STEPS[key]) } : { plan, x: WHOLE / 2, y: WHOLE / 2 });
    return true;
  };
  return { of, now, told, error, key, place: (/** @type {At} */ at) => save(at), away: () => save(null) };
}

/** A group without a pin: nothing that the plans' own reading has. @param {Site} site @param {string | null} id @param {Placeable[]} known @param {RecordView<'photo'>[]} plans */
async function unknownGroup(site, id, known, plans) {
  if (!id || known.some((each) => each.id === id)) return null;
  const group = await site.get(id);
  if (group?.type !== 'group' || group.removed || !group.parent) return null;
  return (await groupsToPlace(site, group.parent, plans)).find((each) => each.id === id) ?? null;
}

/** @param {{site: Site, placing: ReturnType<typeof usePlacing>, plans: RecordView<'photo'>[], next: string | null, onChoose: (id: string | null) => void}} props */
export function Placing({ site, placing, plans, next, onChoose }) {
  const { of, now, told, error, key, away } = placing;
  const groups = useLive(() => groupsToPlace(site, of?.room ?? '', plans), [of?.room, plans.length]);
  if (!of || plans.length === 0) return null;
  return html`<section class="stack placing" aria-label=${say('floor-plan.placing', { name: of.name })}>
    <p role="status">${say(now ? 'floor-plan.tap-to-move' : 'floor-plan.tap-to-place', { name: of.name })}</p>
    ${told > 0 && html`<${Saved} site=${site} key=${`${of.id} ${told}`} />`}
    <${Problem} error=${error} />
    <div class="side-by-side">
      ${next && html`<button type="button" class="button main" onClick=${() => onChoose(next)}>${say('floor-plan.next')}</button>`}
      <button type="button" class="button" onClick=${() => onChoose(null)}>${say('floor-plan.done')}</button>
      ${now && html`<button type="button" class="button" onClick=${away}>${say('floor-plan.pin-away')}</button>`}
    </div>
    <${Nudges} onNudge=${key} />
    ${groups && groups.length > 0 && html`<${GroupsHere} groups=${groups} chosen=${of.id} room=${of.room} onChoose=${onChoose} />`}
  </section>`;
}

/** Groups of the room can have places of their own. @param {{groups: Placeable[], chosen: string, room: string, onChoose: (id: string) => void}} props */
function GroupsHere({ groups, chosen, room, onChoose }) {
  return html`<div class="side-by-side" role="group" aria-label=${say('floor-plan.groups-here')}>
    <span class="small muted place-among">${say('floor-plan.groups-here')}</span>
    ${chosen !== room && html`<button type="button" class="button" onClick=${() => onChoose(room)}>${say('floor-plan.the-room')}</button>`}
    ${groups.map(({ id, label, name }) => html`<button type="button" key=${id} class="button" aria-pressed=${id === chosen} aria-label=${name.startsWith(label) ? name : `${label} ${name}`} onClick=${() => onChoose(id)}>${label}</button>`)}
  </div>`;
}
