// What screens have read of a site, kept while it holds: a screen that asks again asks no disk, and what is saved is put in.

import { viewOf } from '../storage/records.js';

/** @typedef {import('../storage/types.js').LocalRecord} LocalRecord */
/** @typedef {import('../storage/types.js').Summary} SummaryRow */
/** @typedef {import('../storage/site_storage.js').Question} Question */
/** @typedef {import('../storage/touched.js').Touched} Touched */
/** @typedef {{question: Question, answer: Promise<RecordView[]>, records: number}} Kept `records`: how many it holds, once it is known */
/** Answers that list whole records, of which one may be asked for by its id later: a room of a floor, a kind of a group. @type {Set<Question['of']>} */
const LISTS = new Set(['below', 'type']);

/** So many records are kept in memory: rooms, groups and kinds of twenty thousand groups, not all their readings. */
const MOST_RECORDS = 30_000;

/** Of more records than this all is forgotten: looking for each of them in all that was read takes longer than to read it again. */
const MOST_PUT = 60;

/** @param {Question} question */
const keyOf = ({ of, id = '', type = '' }) => `${of} ${type} ${id}`;

/**
 * The keys of all questions that find a record where it is.
 *
 * @param {string} id @param {import('../storage/touched.js').FoundBy} record @returns {string[]}
 */
const keysThatFind = (id, { type, parent, refs, lookup }) =>
  [
    { of: 'id', id },
    { of: 'type', type },
    ...(parent === null ? [] : eachWay('below', parent, type)),
    ...refs.flatMap((ref) => eachWay('refs', ref, type)),
    ...(lookup === undefined ? [] : [{ of: 'lookup', id: lookup, type }]),
  ].map((question) => keyOf(/** @type {Question} */ (question)));

/** @param {Question['of']} of @param {string} id @param {string} type @returns {Question[]} */
const eachWay = (of, id, type) => [
  { of, id },
  { of, id, type },
];

/** @param {RecordView} a @param {RecordView} b */
const byId = (a, b) => (a.id < b.id ? -1 : 1);
/** As the index of what hangs below a record has them. @param {RecordView} a @param {RecordView} b */
const byTypeAndId = (a, b) => (a.type === b.type ? byId(a, b) : a.type < b.type ? -1 : 1);

/** @type {Record<Question['of'], (question: Question, record: LocalRecord) => boolean>} */
const ANSWERS = {
  id: ({ id }, record) => record.id === id,
  below: ({ id, type }, record) =>
    !record.removed && record.parent === id && (type === undefined || record.type === type),
  type: ({ type }, record) => !record.removed && record.type === type,
  refs: ({ id, type }, record) =>
    !record.removed && record.refs.includes(id ?? '') && (type === undefined || record.type === type),
  lookup: ({ id, type }, record) => !record.removed && record.type === type && record.lookup === id,
};

export class Reads {
  /** @param {Pick<import('../storage/site_storage.js').SiteStorage, 'answersTo' | 'summaries' | 'bringRowsUp'>} storage */
  constructor(storage) {
    this.storage = storage;
    /** The one asked for longest ago first. @type {Map<string, Kept>} */
    this.kept = new Map();
    /** The key of the list that a record was last in, by the record's id. @type {Map<string, string>} */
    this.lists = new Map();
    this.records = 0;
    /** Goes up with whatever is written. */
    this.turn = 0;
    /** @type {Promise<Map<string, SummaryRow>> | null} */
    this.rows = null;
    /** Asked since the last turn, to be read in one transaction. @type {Array<{question: Question, done: (records: LocalRecord[]) => void, failed: (error: unknown) => void}>} */
    this.asked = [];
  }

  /** Records that answer a question, in the order of the index. @param {Question} question @returns {Promise<RecordView[]>} */
  async answer(question) {
    const key = keyOf(question);
    const stored = this.kept.get(key);
    if (stored) return [...(await stored.answer)];
    /** @type {Kept} */
    const made = { question, records: 0, answer: this.#found(question) };
    this.kept.set(key, made);
    try {
      const found = await made.answer;
      this.#weigh(key, made, found.length + 1);
      if (LISTS.has(question.of)) this.#note(key, found);
      return [...found];
    } catch (error) {
      if (this.kept.get(key) === made) this.kept.delete(key);
      throw error;
    }
  }

  /** From a list that is held, else from the disk. @param {Question} question @returns {Promise<RecordView[]>} */
  #found(question) {
    const list = question.of === 'id' ? this.kept.get(this.lists.get(question.id ?? '') ?? '') : undefined;
    // Without a list it is asked at once, so that it goes into the same transaction as its neighbours.
    if (!list) return this.#asViews(question);
    return list.answer.then((found) => {
      const listed = found.find(({ id }) => id === question.id);
      return listed ? [listed] : this.#asViews(question);
    });
  }

  /** @param {Question} question */
  #asViews(question) {
    return this.#ask(question).then((found) => found.map(viewOf));
  }

  /** Remember in which list records are. @param {string} key @param {RecordView[]} found */
  #note(key, found) {
    if (this.lists.size > MOST_RECORDS) this.lists.clear();
    for (const { id } of found) this.lists.set(id, key);
  }

  /** What is asked in one go is read in one transaction. @param {Question} question @returns {Promise<LocalRecord[]>} */
  #ask(question) {
    return new Promise((done, failed) => {
      this.asked.push({ question, done, failed });
      if (this.asked.length === 1) queueMicrotask(() => this.#readAsked());
    });
  }

  async #readAsked() {
    const asked = this.asked.splice(0);
    try {
      const answers = await this.storage.answersTo(asked.map(({ question }) => question));
      for (const [place, { done }] of asked.entries()) done(answers[place]);
    } catch (error) {
      for (const { failed } of asked) failed(error);
    }
  }

  /** @param {string} key @param {Kept} made @param {number} records */
  #weigh(key, made, records) {
    if (this.kept.get(key) !== made) return;
    this.records += records - made.records;
    made.records = records;
    for (const [oldest, { records: freed }] of this.kept) {
      if (this.records <= MOST_RECORDS) break;
      this.kept.delete(oldest);
      this.records -= freed;
    }
  }

  /** The rooms' rows. @returns {Promise<SummaryRow[]>} */
  async summaries() {
    await this.storage.bringRowsUp();
    this.rows ??= this.storage.summaries().then((rows) => new Map(rows.map((row) => [row.room, row])));
    const reading = this.rows;
    try {
      return [...(await reading).values()];
    } catch (error) {
      if (this.rows === reading) this.rows = null;
      throw error;
    }
  }

  /** Something was written: put it into what was read. @param {import('../storage/touched.js').Writing} writing */
  take({ records, rows }) {
    if (records?.length !== 0) this.turn += 1;
    if (records === null || records.length > MOST_PUT) this.forget();
    else for (const [key, touched] of byQuestion(records)) this.#put(this.kept.get(key), touched);
    if (rows === null) this.rows = null;
    else if (rows.length > 0 && this.rows) this.rows = this.rows.then((stored) => withRows(stored, rows));
    this.rows?.catch(() => {});
  }

  /** @param {Kept | undefined} kept @param {Touched[]} touched */
  #put(kept, touched) {
    if (!kept) return;
    kept.answer = kept.answer.then((found) => withTouched(kept.question, found, touched));
    kept.answer.catch(() => {});
  }

  /** Another page, or the server, may have changed anything. */
  forget() {
    this.turn += 1;
    this.kept.clear();
    this.lists.clear();
    this.records = 0;
    this.rows = null;
  }
}

/**
 * What was written, by the questions that find it or found it before. Thousands are held: only those few are looked at.
 *
 * @param {Touched[]} records @returns {Map<string, Touched[]>}
 */
function byQuestion(records) {
  /** @type {Map<string, Touched[]>} */
  const found = new Map();
  for (const touched of records)
    for (const key of new Set(
      [touched.before, touched.after].flatMap((place) => (place ? keysThatFind(touched.id, place) : [])),
    ))
      found.set(key, [...(found.get(key) ?? []), touched]);
  return found;
}

/**
 * The answer to a question once some records were written; the same list where that changes nothing.
 *
 * @param {Question} question @param {RecordView[]} found @param {Touched[]} touched @returns {RecordView[]}
 */
export function withTouched(question, found, touched) {
  const order = question.of === 'below' ? byTypeAndId : byId;
  let now = found;
  for (const { id, after } of touched) {
    const place = now.findIndex((each) => each.id === id);
    const answers = after !== null && ANSWERS[question.of](question, after);
    if (place < 0 && !answers) continue;
    const others = place < 0 ? now : now.filter((each) => each.id !== id);
    now = answers ? [...others, viewOf(/** @type {LocalRecord} */ (after))].sort(order) : others;
  }
  return now;
}

/** The same map: who asked for the rows before has a list of their own. @param {Map<string, SummaryRow>} stored @param {import('../storage/touched.js').RowTouched[]} rows */
function withRows(stored, rows) {
  for (const { room, after } of rows) {
    if (after) stored.set(room, after);
    else stored.delete(room);
  }
  return stored;
}
