// What the server has answered: noted at once, so that the next request can leave, and taken into the records afterwards.
//
// An operation stays in the outbox until a backup of the server holds it; what waits there is what no answer stands for.

import { plainStore, row } from './connection.js';
import { countIn } from './counting.js';
import { Edit } from './edit.js';
import { applyOwn, forgetMine, mergeState, showMine, stopSettling } from './merging.js';
import { changeSync, getPhone, getSync } from './meta.js';

/** @typedef {import('./types.js').Waiting} Waiting */
/** @typedef {import('./types.js').Answer} Answer */
/** @typedef {import('./types.js').Answered} Answered */
/** @typedef {import('./types.js').Answers} Answers */
/** @typedef {import('./types.js').Refused} Refused */
/** @typedef {import('./types.js').SyncState} SyncState */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

const KEPT = new Set(['applied', 'same', 'conflict']);
/** It has arrived, and a manager has not yet decided about it, or about what it refers to. */
export const HELD = new Set(['held', 'waits-for-held']);
const NOTING = ['outbox', 'answers', 'answered', 'meta'];
const TAKING = ['records', 'outbox', 'refused', 'answers', 'summaries', 'meta'];

/**
 * The oldest operations that wait, in order.
 *
 * @param {Tx} tx over outbox and meta
 * @param {number} [most] @param {number} [after] only those of a higher counter
 * @returns {Promise<Waiting[]>}
 */
export async function waitingIn(tx, most = Number.POSITIVE_INFINITY, after = 0) {
  const { answeredTo = 0, stragglers = [] } = await getSync(tx);
  const outbox = tx.objectStore('outbox');
  const late = stragglers.filter((n) => n > after).slice(0, most);
  const first = await Promise.all(late.map((n) => outbox.get(n)));
  if (first.length >= most) return first;
  const newer = IDBKeyRange.lowerBound(Math.max(after, answeredTo), true);
  return [...first, ...(await outbox.getAll(newer, Number.isFinite(most) ? most - first.length : undefined))];
}

/** How many operations wait. @param {Tx} tx over outbox and meta @returns {Promise<number>} */
export async function countWaiting(tx) {
  const { answeredTo = 0, stragglers = [] } = await getSync(tx);
  return stragglers.length + (await tx.objectStore('outbox').count(IDBKeyRange.lowerBound(answeredTo, true)));
}

/**
 * Note the answers to a batch, all at once: these operations wait no longer. Those without an answer, and forks, go on waiting.
 *
 * @param {SiteStorage} storage
 * @param {Waiting[]} batch what was sent: the oldest of what waited, in order
 * @param {Answer[]} answers
 * @param {{backed_up?: number, scope?: string, incarnation?: string}} [about]
 * @returns {Promise<{refused: number, forks: number}>} how many were refused, and how many are another phone's by name
 */
export function answered(storage, batch, answers, about = {}) {
  const told = new Map(answers.map((answer) => [answer.id, answer]));
  /** @type {Answered[]} */
  const each = [];
  /** @type {number[]} */
  const waits = [];
  for (const { n, id } of batch) {
    const answer = told.get(id);
    if (answer === undefined || answer.result === 'fork') waits.push(n);
    else each.push(answeredAs(n, answer));
  }
  return storage.run(NOTING, 'readwrite', async (tx) => {
    if (each.length > 0) plainStore(tx, 'answers').put({ n: each[each.length - 1].n, from: each[0].n, each });
    await noteServer(tx, about, each, waits);
    return {
      refused: each.filter(({ result }) => !KEPT.has(result)).length,
      forks: answers.filter(({ result }) => result === 'fork').length,
    };
  });
}

/** @param {number} n @param {Answer} answer @returns {Answered} */
const answeredAs = (n, { result, seq = 0, code, facts, record }) => ({
  n,
  result,
  seq,
  code,
  facts,
  state: record,
});

/**
 * @param {Tx} tx @param {{backed_up?: number, scope?: string, incarnation?: string}} about
 * @param {Answered[]} each answered ones, in order @param {number[]} waits counters of the batch that go on waiting
 */
async function noteServer(tx, about, each, waits) {
  const sync = await getSync(tx);
  const scopeChanged = about.scope !== undefined && sync.scope !== null && about.scope !== sync.scope;
  // A first pull brings no tombstones to a phone that has nothing; this one has now.
  const why = scopeChanged ? 'scope-changed' : sync.cursor === 0 ? 'answered-before-the-first-pull' : null;
  await changeSync(tx, {
    incarnation: sync.incarnation ?? about.incarnation ?? null,
    full: sync.full ?? why,
    fullCursor: scopeChanged ? 0 : sync.fullCursor,
    ...(each.length > 0 && answeredNow(sync, each, waits)),
  });
  if ((about.backed_up ?? 0) > sync.backedUp) await forgetBackedUp(tx, about.backed_up ?? 0);
}

/** @param {SyncState} sync @param {Answered[]} each @param {number[]} waits @returns {Partial<SyncState>} */
function answeredNow(sync, each, waits) {
  const { answeredTo = 0, stragglers = [], toTake = [] } = sync;
  const newest = each[each.length - 1].n;
  const to = Math.max(answeredTo, newest);
  const done = new Set(each.map(({ n }) => n));
  const late = new Set([...stragglers.filter((n) => !done.has(n)), ...waits.filter((n) => n < to)]);
  return {
    answeredTo: to,
    stragglers: [...late].sort((a, b) => a - b),
    toTake: [...toTake, newest],
  };
}

/** Operations that a backup holds, and the records have, need not be kept here. @param {Tx} tx @param {number} backedUp */
async function forgetBackedUp(tx, backedUp) {
  const { toTake = [] } = await changeSync(tx, { backedUp });
  for (const { n, each } of /** @type {Answers[]} */ (await tx.objectStore('answers').getAll())) {
    if (toTake.includes(n) || each.some(({ seq }) => seq > backedUp)) continue;
    for (const answer of each) plainStore(tx, 'outbox').delete(answer.n);
    plainStore(tx, 'answers').delete(n);
  }
  for (const { n, seq } of await tx.objectStore('answered').getAll())
    if (seq <= backedUp) plainStore(tx, 'answered').delete(n);
}

/**
 * Take what was noted into the records, a batch at a time. What is lost of it in a crash is still noted, and is taken in anew.
 *
 * @param {SiteStorage} storage
 * @returns {Promise<boolean>} whether there was anything
 */
export async function takeAnswersIn(storage) {
  const { toTake = [] } = await storage.syncState();
  for (const n of toTake)
    await storage.run(TAKING, 'readwrite', (tx) => takeBatch(storage, tx, n), 'relaxed');
  return toTake.length > 0;
}

/** @param {SiteStorage} storage @param {Tx} tx @param {number} n */
async function takeBatch(storage, tx, n) {
  const sync = await getSync(tx);
  // Another tab may have been quicker.
  if (!sync.toTake?.includes(n)) return;
  const { from, each } = /** @type {Answers} */ (await row(tx, 'answers', n));
  const told = new Map(each.map((answer) => [answer.n, answer]));
  const there = /** @type {Waiting[]} */ (await tx.objectStore('outbox').getAll(IDBKeyRange.bound(from, n)));
  const sent = there.filter((waits) => told.has(waits.n));
  const edit = new Edit(tx, storage.pointers);
  await edit.load(sent.map(({ record }) => record));
  for (const waits of sent)
    await take(tx, edit, waits, /** @type {Answered} */ (told.get(waits.n)), sync.fullPulls ?? 0);
  const recount = await finish(storage, tx, edit);
  await changeSync(tx, {
    toTake: sync.toTake.filter((other) => other !== n),
    recount: sync.recount || recount,
  });
}

/** Write what answers did to the records. @param {SiteStorage} storage @param {Tx} tx @param {Edit} edit @returns {Promise<boolean>} whether rooms are to be counted anew */
async function finish(storage, tx, edit) {
  const changes = edit.finish();
  await edit.followSums();
  return countIn(tx, changes, storage.rooms.by(await getPhone(tx)));
}

/**
 * Take in what has become of held operations: what was let in is the server's, what was refused says so.
 *
 * @param {SiteStorage} storage
 * @param {Answer[]} answers to the same operations, sent once more
 * @returns {Promise<number>} how many are held no longer
 */
export function takeSettledIn(storage, answers) {
  const settled = answers.filter(({ result, code }) => result !== 'fork' && !HELD.has(code ?? result));
  if (settled.length === 0) return Promise.resolve(0);
  return storage.run(TAKING, 'readwrite', async (tx) => {
    const edit = new Edit(tx, storage.pointers);
    const { fullPulls = 0, recount = false } = await getSync(tx);
    for (const answer of settled) {
      const row = /** @type {Refused | undefined} */ (await tx.objectStore('refused').get(answer.id));
      if (!row) continue;
      plainStore(tx, 'refused').delete(row.id);
      const told = answeredAs(row.n, answer);
      await take(tx, edit, row, told, fullPulls);
      if (KEPT.has(told.result)) await keepUntilBackedUp(tx, row, told);
    }
    const behind = await finish(storage, tx, edit);
    await changeSync(tx, { recount: recount || behind });
    return settled.length;
  });
}

/** No backup of the server may hold it yet: one that is set back gets it again. @param {Tx} tx @param {Waiting} waiting @param {Answered} told */
async function keepUntilBackedUp(tx, { n, id, record, op }, told) {
  plainStore(tx, 'outbox').put({ n, id, record, op });
  const [batch] = /** @type {Answers[]} */ (
    await tx.objectStore('answers').getAll(IDBKeyRange.lowerBound(n), 1)
  );
  const { each, ...about } = batch && batch.from <= n ? batch : { n, from: n, each: [] };
  const others = each.filter((other) => other.n !== n);
  plainStore(tx, 'answers').put({ ...about, each: [...others, told].sort((a, b) => a.n - b.n) });
}

/** @param {Tx} tx @param {Edit} edit @param {Waiting} waits @param {Answered} answer @param {number} fullPulls of this phone so far */
async function take(tx, edit, { n, id, op }, { result, seq, code, facts, state }, fullPulls) {
  const record = await edit.getOrMake(op.record, op.type);
  if (!KEPT.has(result)) {
    const reason = { code: code ?? result, facts: facts ?? {} };
    const lacked = await lackedBy(tx, reason, fullPulls);
    plainStore(tx, 'outbox').delete(n);
    plainStore(tx, 'refused').put({ id, n, record: op.record, op, ...reason, ...lacked });
    stopSettling(record, op);
    if (record.mine[op.facet]?.op === id) showMine(record, op, reason);
    return;
  }
  edit.willChange(record);
  if (result === 'applied') applyOwn(record, op, seq);
  else if (state) mergeState(record, state, () => undefined);
  forgetMine(record, op);
}

/** Refused for want of a record, which `facts.value` names. */
export const LACKING = new Set(['record-missing', 'referred-record-missing']);

/**
 * What this phone knew of the record that the server lacked, when it said so.
 *
 * @param {Tx} tx @param {{code: string, facts: Facts}} reason @param {number} fullPulls
 * @returns {Promise<{lacked?: number, fullPulls?: number}>}
 */
async function lackedBy(tx, { code, facts }, fullPulls) {
  if (!LACKING.has(code)) return {};
  return { lacked: (await row(tx, 'records', /** @type {string} */ (facts.value)))?.seq ?? 0, fullPulls };
}

/**
 * An own operation that waits or was answered, or undefined.
 *
 * @param {Tx} tx over outbox and answered @param {string} id
 * @returns {Promise<Waiting | undefined>}
 */
export async function ownOperation(tx, id) {
  // An operation's counter is its place, whatever it is called now.
  const place = Number(String(id).split('.')[2]);
  if (!Number.isSafeInteger(place)) return undefined;
  for (const store of ['outbox', 'answered']) {
    const found = await tx.objectStore(store).get(place);
    if (found?.id === id) return found;
  }
  return undefined;
}

/**
 * Everything that was answered waits again, in its former place, but for what was refused and is shown as such.
 *
 * @param {Tx} tx over outbox, answers, answered and meta
 */
export async function sendAnsweredAgain(tx) {
  // An older app kept what was answered apart.
  for (const { n, id, record, op } of await tx.objectStore('answered').getAll())
    plainStore(tx, 'outbox').put({ n, id, record, op });
  plainStore(tx, 'answered').clear();
  plainStore(tx, 'answers').clear();
  await changeSync(tx, { answeredTo: 0, stragglers: [], toTake: [] });
}
