// What can be found on a site: rooms, kinds, fixtures, labels, of the records as they come by. Pure.

import { facet, isPosition } from '../../rules/survey.js';
import { titleOf } from '../record_screens.js';
import { BEGINS, plain, positionIn, rank, wordsOf } from './matching.js';

/** @typedef {{id: string, title: string, words: string[], above: string | null}} Line */
/** @typedef {{id: string, room: string, kind: string, note: string, words: string[], group: ViewRecord<'group'>}} GroupLine */
/** @typedef {{code: string, group: string, position: number}} LabelLine */
/** @typedef {{about: 'room' | 'kind' | 'fixture' | 'label', rank: number, path: string, title: string, detail: string}} Found `path`: below the site's address */

/** So many lines are looked at before the screen has its turn. */
const AT_ONCE = 1500;
/** From here on letters are a part of a label's code, and of nothing else. */
const CODE_LETTERS = 3;

export class SiteIndex {
  constructor() {
    /** @type {Map<string, Line>} */
    this.floors = new Map();
    /** @type {Map<string, Line>} */
    this.rooms = new Map();
    /** @type {Map<string, Line>} */
    this.kinds = new Map();
    /** @type {Map<string, GroupLine>} */
    this.groups = new Map();
    /** @type {LabelLine[]} */
    this.labels = [];
    this.records = 0;
  }

  /** @param {RecordView} record */
  add(record) {
    this.records += 1;
    if (record.removed) return;
    const { id, type, parent } = record;
    if (type === 'floor') this.floors.set(id, this.#line(record));
    else if (type === 'room') this.rooms.set(id, { ...this.#line(record), above: parent });
    else if (type === 'kind') this.kinds.set(id, this.#line(record));
    else if (type === 'group') this.#addGroup(/** @type {RecordView<'group'>} */ (record));
    else if (type === 'label') this.#addLabel(/** @type {RecordView<'label'>} */ (record));
  }

  /** @param {RecordView} record @returns {Line} */
  #line(record) {
    const title = titleOf(record);
    return { id: record.id, title, words: wordsOf(title), above: record.parent };
  }

  /** @param {RecordView<'group'>} record */
  #addGroup({ id, type, parent, removed, facets }) {
    const { kind, note = '' } = facets.identity ?? { kind: '' };
    const group = { id, type, parent, removed, facets: { count: facets.count }, conflicts: [] };
    this.groups.set(id, { id, room: parent ?? '', kind, note, words: wordsOf(note), group });
  }

  /** @param {RecordView<'label'>} record */
  #addLabel(record) {
    const { code } = facet(record, 'identity');
    const { group, position } = facet(record, 'binding');
    if (code && group && position !== undefined && !facet(record, 'voided').reason)
      this.labels.push({ code, group, position });
  }

  /**
   * Everything that answers a query, a handful of lines at a time.
   *
   * @param {string} query as it was typed
   * @returns {Generator<Found[]>} what was found in each handful
   */
  *find(query) {
    const words = wordsOf(query);
    if (words.length === 0) return;
    yield* inHandfuls(this.rooms.values(), (room) => this.#room(room, words));
    yield* inHandfuls(this.kinds.values(), (kind) => this.#kind(kind, words));
    const code = plain(query).replace(/[\s-]/g, '').toUpperCase();
    if (code.length >= CODE_LETTERS) yield* inHandfuls(this.labels, (label) => this.#label(label, code));
    yield* inHandfuls(this.groups.values(), (group) => this.#group(group, words));
  }

  /** @param {Line} room @param {string[]} query @returns {Found | null} */
  #room(room, query) {
    const floor = this.floors.get(room.above ?? '');
    const told = rank(query, [...room.words, ...(floor?.words ?? [])]);
    // A floor's name alone is an answer of that floor, not of each of its rooms.
    if (told < 0 || rank(query, floor?.words ?? []) >= 0) return null;
    return {
      about: 'room',
      rank: told,
      path: `/room/${room.id}`,
      title: room.title,
      detail: floor?.title ?? '',
    };
  }

  /** @param {Line} kind @param {string[]} query @returns {Found | null} */
  #kind(kind, query) {
    const told = rank(query, kind.words);
    return told < 0
      ? null
      : { about: 'kind', rank: told, path: `/kind/${kind.id}`, title: kind.title, detail: '' };
  }

  /** @param {LabelLine} label @param {string} typed as it stands in a code @returns {Found | null} */
  #label({ code, group, position }, typed) {
    if (!code.startsWith(typed)) return null;
    const path = `/fixture/${group}/${position}?code=${code}`;
    return {
      about: 'label',
      rank: code === typed ? 0 : BEGINS,
      path,
      title: code,
      detail: this.#where(group, position),
    };
  }

  /** A group by its room and kind together, or by its note; with a number beside, one fixture of it. @param {GroupLine} line @param {string[]} query @returns {Found | null} */
  #group(line, query) {
    const room = this.rooms.get(line.room);
    const kind = this.kinds.get(line.kind);
    if (!room) return null;
    const all = [...room.words, ...(kind?.words ?? []), ...line.words];
    const position = positionIn(query, all);
    if (position !== null && isPosition(line.group, position)) {
      const path = `/fixture/${line.id}/${position}`;
      return {
        about: 'fixture',
        rank: BEGINS,
        path,
        title: `${kind?.title ?? ''} · ${position}`,
        detail: room.title,
      };
    }
    const told = rank(query, all);
    const byOneAlone = rank(query, room.words) >= 0 || rank(query, kind?.words ?? []) >= 0;
    if (told < 0 || byOneAlone) return null;
    const title = [kind?.title, line.note].filter(Boolean).join(', ');
    return { about: 'fixture', rank: told, path: `/group/${line.id}`, title, detail: room.title };
  }

  /** @param {string} id @param {number} position */
  #where(id, position) {
    const line = this.groups.get(id);
    const [room, kind] = [this.rooms.get(line?.room ?? ''), this.kinds.get(line?.kind ?? '')];
    return [room?.title, kind?.title, String(position)].filter(Boolean).join(' · ');
  }
}

/** @template T @param {Iterable<T>} lines @param {(line: T) => Found | null} look @returns {Generator<Found[]>} */
function* inHandfuls(lines, look) {
  /** @type {Found[]} */
  let found = [];
  let looked = 0;
  for (const line of lines) {
    const answer = look(line);
    if (answer) found.push(answer);
    looked += 1;
    if (looked % AT_ONCE === 0) {
      yield found;
      found = [];
    }
  }
  yield found;
}
