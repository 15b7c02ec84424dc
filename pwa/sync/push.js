// Operations out, answers in, a batch at a time: while one is on its way the next is made ready, and the last one's answers are noted.

import { operationHash } from './canonical.js';
import { mayBeOne, standsAlone } from './poison_operation.js';
import { NoAnswer } from './transport.js';

/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('../storage/types.js').Waiting} Waiting */
/** @typedef {import('../storage/types.js').Answer} Answer */
/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {import('./transport.js').Packed} Packed */
/** @typedef {{batch: Waiting[], answer: PushAnswer}} Sent */
/** @typedef {{answers: Answer[], incarnation?: string, backed_up?: number, scope?: string}} PushAnswer */

/**
 * @typedef {object} Request A batch, ready to leave.
 * @property {number} after counter of the newest operation before it
 * @property {number} before how many went before it
 * @property {Waiting[]} batch
 * @property {number} mostBytes that it was made to hold
 * @property {Packed} packed
 */

export const MOST_OPERATIONS = 1000;
export const MOST_BYTES = 1_000_000;
/** A weak link may carry this where it would not carry more; each request that arrives may be followed by one of twice as much. */
const FIRST_BYTES = 125_000;
const TOO_LARGE = 413;

/**
 * The first of what waits that go into one request.
 *
 * @param {Waiting[]} waiting in order
 * @param {number} [mostBytes] of JSON; a single larger operation goes alone
 * @returns {Waiting[]}
 */
export function batchOf(waiting, mostBytes = MOST_BYTES) {
  let bytes = 0;
  const fits = waiting.slice(0, MOST_OPERATIONS).findIndex((each, place) => {
    bytes += JSON.stringify(each.op).length;
    return place > 0 && bytes > mostBytes;
  });
  return waiting.slice(0, fits < 0 ? MOST_OPERATIONS : fits);
}

/**
 * Send everything that waits. Returns when the outbox is empty; the records have the answers after `takeAnswersIn`.
 *
 * @param {SiteStorage} storage
 * @param {Transport} transport
 * @param {(told: {refused: number}) => void} [onAnswers] after each batch of answers was noted
 * @throws {NoAnswer} what was answered before it is noted
 */
export async function pushAll(storage, transport, onAnswers = () => {}) {
  const sending = new Sending(storage, transport, onAnswers);
  while (await sending.pass());
}

class Sending {
  /** @param {SiteStorage} storage @param {Transport} transport @param {(told: {refused: number}) => void} onAnswers */
  constructor(storage, transport, onAnswers) {
    this.storage = storage;
    this.transport = transport;
    this.onAnswers = onAnswers;
    this.mostBytes = FIRST_BYTES;
    this.limit = MOST_BYTES;
    /** A batch that the server could not take, up to its newest counter: so many of it at once. @type {{to: number, most: number} | null} */
    this.few = null;
    /** Read, and not in a request yet. @type {Waiting[]} */
    this.loaded = [];
    /** Counter up to which the phone knows that it may have been seen. */
    this.marked = 0;
    /** @type {Awaited<ReturnType<typeof envelope>> | null} */
    this.envelope = null;
  }

  /** Send what waits, from the oldest to the newest. @returns {Promise<boolean>} whether there was anything */
  async pass() {
    const [oldest] = await this.storage.waiting(1);
    if (!oldest) return false;
    const { counter } = await this.storage.phone();
    this.marked = counter;
    const [about, loaded] = await all([
      envelope(this.storage),
      this.storage.waiting(MOST_OPERATIONS),
      this.storage.markSent(counter),
    ]);
    this.envelope = about;
    this.loaded = loaded;
    /** @type {Sent | null} */
    let came = null;
    let request = await this.#ready(0, 0);
    while (request) {
      const before = request.before + request.batch.length;
      /** @type {[PushAnswer | null, Request | null, unknown]} */
      const [answer, next] = await all([
        this.#send(request),
        this.#ready(newest(request), before),
        came && this.#note(came),
      ]);
      if (answer && this.few && newest(request) >= this.few.to) this.few = null;
      came = answer && { batch: request.batch, answer };
      about.incarnation ??= answer?.incarnation ?? null;
      if (answer?.answers.some(({ result }) => result === 'fork')) break;
      request = answer ? next : await this.#smaller(request);
    }
    if (came) await this.#last(came);
    const [still] = await this.storage.waiting(1);
    // Asked again at once the server would say no more: the line tells it, and tries later.
    if (still?.id === oldest.id) throw new NoAnswer('server-failed', 'phone.sync-broke');
    return true;
  }

  /** @param {number} after @param {number} before @returns {Promise<Request | null>} null when nothing waits after it */
  async #ready(after, before) {
    const mostBytes = this.mostBytes;
    const ahead = await this.#ahead(after);
    const batch = batchOf(this.few ? ahead.slice(0, this.few.most) : ahead, mostBytes);
    if (batch.length === 0) return null;
    this.mostBytes = Math.min(this.limit, 2 * mostBytes);
    return { after, before, batch, mostBytes, packed: await this.#pack(batch, before) };
  }

  /** @param {Waiting[]} batch @param {number} before how many went before it */
  #pack(batch, before) {
    const { unsent, ...about } = /** @type {Awaited<ReturnType<typeof envelope>>} */ (this.envelope);
    return this.transport.pack({
      ...about,
      unsent: { ...unsent, operations: Math.max(0, unsent.operations - before - batch.length) },
      operations: batch.map((waiting) => waiting.op),
    });
  }

  /** What waits after a counter, as far as one request can take it; of what was read before, only the rest. @param {number} after */
  async #ahead(after) {
    const loaded = this.loaded.filter(({ n }) => n > after);
    const newestHeld = loaded[loaded.length - 1]?.n ?? after;
    const more = await this.storage.waiting(MOST_OPERATIONS - loaded.length, newestHeld);
    this.loaded = [...loaded, ...more];
    const newestHere = this.loaded[this.loaded.length - 1]?.n ?? 0;
    // A save must not rewrite what was read, even where that goes with a later request.
    if (newestHere > this.marked) await this.storage.markSent(newestHere);
    this.marked = Math.max(this.marked, newestHere);
    return this.loaded;
  }

  /** @param {Request} request @returns {Promise<PushAnswer | null>} null when less is to be sent at a time */
  async #send({ packed, batch, before, mostBytes }) {
    try {
      return await this.transport.push(packed);
    } catch (error) {
      const tooLarge = /** @type {NoAnswer} */ (error).status === TOO_LARGE;
      if (!tooLarge && !mayBeOne(error)) throw error;
      if (batch.length === 1) {
        if (tooLarge) throw error;
        return standsAlone(this.transport, { packed, op: batch[0].op, empty: await this.#pack([], before) });
      }
      if (tooLarge) this.limit = Math.ceil(mostBytes / 2);
      else this.few = { to: batch[batch.length - 1].n, most: Math.ceil(batch.length / 2) };
      return null;
    }
  }

  /** @param {Request} request that was not taken */
  #smaller({ after, before }) {
    this.mostBytes = Math.min(this.mostBytes, this.limit);
    this.loaded = [];
    return this.#ready(after, before);
  }

  /** @param {Sent} sent */
  async #note({ batch, answer }) {
    const told = await this.storage.answered(batch, answer.answers, answer);
    this.onAnswers(told);
    return told.forks;
  }

  /** @param {Sent} sent */
  async #last(sent) {
    const forks = await this.#note(sent);
    if (forks > 0) await takeNewName(this.storage);
  }
}

/** @param {Request} request */
const newest = ({ batch }) => batch[batch.length - 1].n;

/**
 * All of them, when each has ended: nothing goes on behind the first failure.
 *
 * @template {readonly unknown[]} T
 * @param {[...T]} running
 * @returns {Promise<{-readonly [P in keyof T]: Awaited<T[P]>}>}
 */
async function all(running) {
  const ended = await Promise.allSettled(running);
  const values = ended.map((each) => {
    if (each.status === 'rejected') throw each.reason;
    return each.value;
  });
  return /** @type {{-readonly [P in keyof T]: Awaited<T[P]>}} */ (values);
}

/** What every request of a pass says besides its operations. @param {SiteStorage} storage */
export async function envelope(storage) {
  const [{ device, epoch }, { incarnation, scope }, { operations, photos }] = await Promise.all([
    storage.phone(),
    storage.syncState(),
    storage.counts(),
  ]);
  return { device, epoch, incarnation, scope, unsent: { operations, photos } };
}

/** Another phone goes by this one's name. @param {SiteStorage} storage */
export async function takeNewName(storage) {
  const waiting = await storage.waiting();
  const hashes = await Promise.all(waiting.map(({ op }) => operationHash(op)));
  await storage.takeNewName(new Map(waiting.map(({ id }, place) => [id, hashes[place]])));
}
