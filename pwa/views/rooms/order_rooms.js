// The order of a floor's rooms, by number or by hand, and rooms that belong on another floor.

import { useEffect, useRef, useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { readFloor } from './reading.js';
import { byNumber, movedTo, moveDrafts, orderDrafts } from './room_order.js';

/** @typedef {Awaited<ReturnType<typeof readFloor>>} FloorRead */
/** @typedef {RecordView<'room'>} Room */

/** @param {{site: Site, params: {floor: string}}} props */
export function OrderRooms({ site, params }) {
  const read = useLive(() => readFloor(site, params.floor), [params.floor]);
  if (!read) return null;
  const back = `/s/${site.id}/floors/${params.floor}`;
  return html`<${Page} title=${say('rooms.order')} over=${read.floor ? titleOf(read.floor) : ''} back=${back} site=${site.id} look="form">
    <${Form} site=${site} read=${read} floor=${params.floor} />
  <//>`;
}

/** @param {{site: Site, read: FloorRead, floor: string}} props */
function Form({ site, read, floor }) {
  /** Order by hand, not saved yet; null: as it is. */
  const [wanted, setWanted] = useState(/** @type {string[] | null} */ (null));
  const [chosen, setChosen] = useState(/** @type {Set<string>} */ (new Set()));
  const [told, setTold] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const rooms = wanted ? inThisOrder(read.rooms, wanted) : read.rooms;
  const drafts = orderDrafts(rooms);
  /** @param {Room[]} next */
  const order = (next) => {
    setWanted(next.map(({ id }) => id));
  };
  /** @param {Draft[]} changes @param {string} done */
  const save = async (changes, done) => {
    setError(null);
    // What was said of the save before this one goes, and with it that it was taken back.
    setTold('');
    try {
      await site.save(changes);
      setTold(done);
      setWanted(null);
      setChosen(new Set());
    } catch (problem) {
      setError(problem);
    }
  };
  /** @param {RecordView<'floor'>} to */
  const move = async (to) => {
    const there = await readFloor(site, to.id);
    const going = read.rooms.filter(({ id }) => chosen.has(id));
    await save(
      moveDrafts(going, to.id, there.last),
      say('rooms.moved', { rooms: counted(going.length, 'room'), floor: titleOf(to) }),
    );
  };
  /** @param {string} id */
  const choose = (id) => {
    const next = new Set(chosen);
    if (!next.delete(id)) next.add(id);
    setChosen(next);
  };
  return html`<div class="stack">
    ${rooms.length === 0 && html`<p class="notice">${say('rooms.no-rooms-here')}</p>`}
    <p class="muted">${say('rooms.order-about')}</p>
    <button type="button" class="button" onClick=${() => order(byNumber(rooms))}>${say('rooms.by-number')}</button>
    <${Sortable} rooms=${rooms} chosen=${chosen} onOrder=${order} onChoose=${choose} />
    <${Problem} error=${error} />
    <button type="button" class="button main wide" disabled=${drafts.length === 0} onClick=${() => save(drafts, say('rooms.order-saved'))}>${say('rooms.save-order')}</button>
    ${told && html`<${Saved} site=${site} key=${told}>${told}<//>`}
    <${MoveTo} floors=${read.floors.filter(({ id }) => id !== floor)} chosen=${chosen.size} onMove=${move} />
  </div>`;
}

/** Rooms in an order by hand; what came meanwhile stands at the end. @param {Room[]} rooms @param {string[]} ids */
function inThisOrder(rooms, ids) {
  const byId = new Map(rooms.map((room) => [room.id, room]));
  return [...ids.flatMap((id) => byId.get(id) ?? []), ...rooms.filter(({ id }) => !ids.includes(id))];
}

/** @param {{rooms: Room[], chosen: Set<string>, onOrder: (rooms: Room[]) => void, onChoose: (id: string) => void}} props */
function Sortable({ rooms, chosen, onOrder, onChoose }) {
  const list = useRef(/** @type {HTMLOListElement | null} */ (null));
  const dragged = useDragging(list, rooms, onOrder);
  return html`<ol class="rows sortable" ref=${list}>
    ${rooms.map((room, place) => {
      const title = titleOf(room);
      return html`<li key=${room.id} class=${`sort-line ${dragged === room.id ? 'dragged' : ''}`}>
        <span class="drag-handle" data-drag=${room.id} title=${say('rooms.drag', { room: title })} aria-hidden="true">≡</span>
        <label class="sort-choose"><input type="checkbox" aria-label=${say('rooms.choose', { room: title })} checked=${chosen.has(room.id)} onChange=${() => onChoose(room.id)} /><span>${title}</span></label>
        <button type="button" class="button plain" aria-label=${say('rooms.up', { room: title })} disabled=${place === 0} onClick=${() => onOrder(movedTo(rooms, place, place - 1))}>↑</button>
        <button type="button" class="button plain" aria-label=${say('rooms.down', { room: title })} disabled=${place === rooms.length - 1} onClick=${() => onOrder(movedTo(rooms, place, place + 1))}>↓</button>
      </li>`;
    })}
  </ol>`;
}

/**
 * A line that follows the finger, or the mouse, by its handle.
 *
 * @param {{current: HTMLOListElement | null}} list @param {Room[]} rooms @param {(rooms: Room[]) => void} onOrder
 * @returns {string | null} id of the room that is dragged
 */
function useDragging(list, rooms, onOrder) {
  const [dragged, setDragged] = useState(/** @type {string | null} */ (null));
  const newest = useRef({ rooms, onOrder });
  newest.current = { rooms, onOrder };
  useEffect(() => {
    const whole = /** @type {HTMLOListElement} */ (list.current);
    /** @type {string | null} */
    let id = null;
    /** @param {PointerEvent} event */
    const begin = (event) => {
      const handle = /** @type {Element} */ (event.target).closest('[data-drag]');
      if (!(handle instanceof HTMLElement) || event.button !== 0) return;
      event.preventDefault();
      id = handle.dataset.drag ?? null;
      whole.setPointerCapture(event.pointerId);
      setDragged(id);
    };
    /** @param {PointerEvent} event */
    const move = (event) => {
      if (id === null) return;
      const { rooms: now, onOrder: tell } = newest.current;
      const from = now.findIndex((room) => room.id === id);
      const to = placeAt(whole, event.clientY, from);
      if (to !== from) tell(movedTo(now, from, to));
    };
    const end = () => {
      id = null;
      setDragged(null);
    };
    whole.addEventListener('pointerdown', begin);
    whole.addEventListener('pointermove', move);
    whole.addEventListener('pointerup', end);
    whole.addEventListener('pointercancel', end);
    return () => {
      whole.removeEventListener('pointerdown', begin);
      whole.removeEventListener('pointermove', move);
      whole.removeEventListener('pointerup', end);
      whole.removeEventListener('pointercancel', end);
    };
  }, []);
  return dragged;
}

/** Which place a height is at: a neighbour gives way when its middle is passed. @param {HTMLOListElement} list @param {number} y @param {number} from */
function placeAt(list, y, from) {
  const middles = [...list.children].map((line) => {
    const { top, height } = line.getBoundingClientRect();
    return top + height / 2;
  });
  let to = from;
  while (to > 0 && y < middles[to - 1]) to -= 1;
  while (to < middles.length - 1 && y > middles[to + 1]) to += 1;
  return to;
}

/** @param {{floors: RecordView<'floor'>[], chosen: number, onMove: (floor: RecordView<'floor'>) => void}} props */
function MoveTo({ floors, chosen, onMove }) {
  const [to, setTo] = useState(floors[0]?.id ?? '');
  const floor = floors.find(({ id }) => id === to);
  if (floors.length === 0) return null;
  return html`<div class="card">
    <div class="field"><label for="move-to">${say('rooms.move-to')}</label>
      <select id="move-to" value=${to} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => setTo(event.currentTarget.value)}>
        ${floors.map((each) => html`<option key=${each.id} value=${each.id} selected=${each.id === to}>${titleOf(each)}</option>`)}
      </select></div>
    <button type="button" class="button" disabled=${chosen === 0 || !floor} onClick=${() => floor && onMove(floor)}>${say('rooms.move', { rooms: counted(chosen, 'room') })}</button>
  </div>`;
}
