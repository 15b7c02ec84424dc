// What the server has answered: noted at once, so that the next request can leave, and taken into the records afterwards.

import { plainStore, row } from './connection.js';
import { countIn } from './counting.js';
import { Edit } from './edit.js';
import { applyOwn, forgetMine, mergeState, showMine, stopSettling } from './merging.js';
import { changeSync, getPhone, getSync } from './meta.js';

/** @typedef {import('./types.js').Waiting} Waiting */
/** @typedef {import('./types.js').Answer} Answer */
/** @typedef {import('./types.js').Answered} Answered */
/** @typedef {import('./types.js').AnsweredRun} AnsweredRun */
/** @typedef {import('./site_storage.js').SiteStorage} SiteStorage */

const KEPT = new Set(['applied', 'same', 'conflict']);
const NOTING = ['outbox', 'answered', 'meta'];
const TAKING = ['records', 'refused', 'answered', 'summaries', 'meta'];

/**
 * Note the answers to a batch, all at once: these operations wait no longer. Those without an answer, and forks, go on waiting.
 *
 * @param {SiteStorage} storage
 * @param {Answer[]} answers
 * @param {{backed_up?: number, scope?: string, incarnation?: string}} [about]
 * @returns {Promise<{refused: number, forks: number}>} how many were refused, and how many are another phone's by name
 */
export function answered(storage, answers, about = {}) {
  return storage.run(NOTING, 'readwrite', async (tx) => {
    const told = new Map(answers.map((answer) => [answer.id, answer]));
    const waits = await waitingFor(tx, [...told.keys()]);
    const runs = runsOf(waits, told);
    for (const run of runs) {
      plainStore(tx, 'outbox').delete(IDBKeyRange.bound(run.ops[0].n, run.n));
      plainStore(tx, 'answered').put(run);
    }
    await noteServer(tx, about, runs);
    const ops = runs.flatMap((run) => run.ops);
    return {
      refused: ops.filter(({ result }) => !KEPT.has(result)).length,
      forks: waits.filter(({ id }) => told.get(id)?.result === 'fork').length,
    };
  });
}

/** The part of the outbox that answers are for. @param {any} tx @param {string[]} ids @returns {Promise<Waiting[]>} */
async function waitingFor(tx, ids) {
  const places = ids.map(placeOf).filter(Number.isSafeInteger);
  if (places.length === 0) return [];
  return tx.objectStore('outbox').getAll(IDBKeyRange.bound(Math.min(...places), Math.max(...places)));
}

/** An operation's counter is its place in the outbox, whatever it is called now. @param {string} id */
export const placeOf = (id) => Number(String(id).split('.')[2]);

/**
 * Answered operations that stand one after another in the outbox: between two runs something goes on waiting, so that no
 * two runs overlap.
 *
 * @param {Waiting[]} waits in order @param {Map<string, Answer>} told
 * @returns {AnsweredRun[]}
 */
function runsOf(waits, told) {
  /** @type {AnsweredRun[]} */
  const runs = [];
  let open = false;
  for (const { n, id, record, op } of waits) {
    const answer = told.get(id);
    const ends = answer === undefined || answer.result === 'fork';
    if (!ends) {
      if (!open) runs.push({ n, ops: [] });
      const { result, seq = 0, code, facts, record: state } = answer;
      const run = runs[runs.length - 1];
      run.n = n;
      run.ops.push({ n, id, record, op, result, seq, code, facts, state });
    }
    open = !ends;
  }
  return runs;
}

/** @param {any} tx @param {{backed_up?: number, scope?: string, incarnation?: string}} about @param {AnsweredRun[]} runs */
async function noteServer(tx, about, runs) {
  const sync = await getSync(tx);
  const scopeChanged = about.scope !== undefined && sync.scope !== null && about.scope !== sync.scope;
  // A first pull brings no tombstones to a phone that has nothing; this one has now.
  const why = scopeChanged ? 'scope-changed' : sync.cursor === 0 ? 'answered-before-the-first-pull' : null;
  await changeSync(tx, {
    incarnation: sync.incarnation ?? about.incarnation ?? null,
    full: sync.full ?? why,
    fullCursor: scopeChanged ? 0 : sync.fullCursor,
    toTake: [...(sync.toTake ?? []), ...runs.map(({ n }) => n)],
  });
  if ((about.backed_up ?? 0) > sync.backedUp) await forgetBackedUp(tx, about.backed_up ?? 0);
}

/** Answered operations that a backup holds, and the records have, need not be kept here. @param {any} tx @param {number} backedUp */
async function forgetBackedUp(tx, backedUp) {
  const { toTake } = await changeSync(tx, { backedUp });
  let cursor = await tx.objectStore('answered').openCursor();
  while (cursor) {
    const held = opsOf(cursor.value).every(({ seq }) => seq <= backedUp);
    if (held && !toTake?.includes(cursor.value.n)) await cursor.delete();
    cursor = await cursor.continue();
  }
}

/**
 * Take what was noted into the records, a run at a time. What is lost of it in a crash is still noted, and is taken in anew.
 *
 * @param {SiteStorage} storage
 * @returns {Promise<boolean>} whether there was anything
 */
export async function takeAnswersIn(storage) {
  const { toTake = [] } = await storage.syncState();
  for (const n of toTake) await storage.run(TAKING, 'readwrite', (tx) => takeRun(storage, tx, n), 'relaxed');
  return toTake.length > 0;
}

/** @param {SiteStorage} storage @param {any} tx @param {number} n */
async function takeRun(storage, tx, n) {
  const sync = await getSync(tx);
  // Another tab may have been quicker.
  if (!sync.toTake?.includes(n)) return;
  const { ops } = /** @type {AnsweredRun} */ (await tx.objectStore('answered').get(n));
  const edit = new Edit(tx, storage.pointers);
  await edit.load(ops.map(({ record }) => record));
  for (const each of ops) await take(tx, edit, each, sync.full !== null);
  const behind = await countIn(tx, edit.finish(), storage.roomsBy(await getPhone(tx)));
  await changeSync(tx, {
    toTake: sync.toTake.filter((other) => other !== n),
    recount: sync.recount || behind,
  });
}

/** @param {any} tx @param {Edit} edit @param {Answered} answer @param {boolean} stale everything is to be pulled again */
async function take(tx, edit, { n, id, op, result, seq, code, facts, state }, stale) {
  const record = await edit.getOrMake(op.record, op.type);
  if (!KEPT.has(result)) {
    const reason = { code: code ?? result, facts: facts ?? {} };
    const lacked = await lackedBy(tx, reason, stale);
    plainStore(tx, 'refused').put({ id, n, record: op.record, op, ...reason, ...lacked });
    stopSettling(record, op);
    if (record.mine[op.facet]?.op === id) showMine(record, op, reason);
    return;
  }
  if (result === 'applied') applyOwn(record, op, seq);
  else if (state) mergeState(record, state, () => undefined);
  forgetMine(record, op);
}

/** Refused for want of a record, which `facts.value` names. */
const LACKING = new Set(['record-missing', 'referred-record-missing']);

/**
 * What this phone knew of the record that the server lacked, when it said so.
 *
 * @param {any} tx @param {{code: string, facts: Record<string, any>}} reason
 * @param {boolean} stale what is here is about to be pulled anew, and says nothing
 * @returns {Promise<{lacked?: number}>} newest sequence of it, 0 if it was not here
 */
async function lackedBy(tx, { code, facts }, stale) {
  if (!LACKING.has(code)) return {};
  if (stale) return { lacked: 0 };
  return { lacked: (await row(tx, 'records', facts.value))?.seq ?? 0 };
}

/** A row of before answers were kept in runs is one by itself. @param {AnsweredRun | Answered} row @returns {Answered[]} */
const opsOf = (row) => ('ops' in row ? row.ops : [row]);

/**
 * An own operation that waits or was answered, or undefined.
 *
 * @param {any} tx over outbox and answered @param {string} id
 * @returns {Promise<Waiting | Answered | undefined>}
 */
export async function ownOperation(tx, id) {
  const place = placeOf(id);
  if (!Number.isSafeInteger(place)) return undefined;
  const waits = await tx.objectStore('outbox').get(place);
  if (waits?.id === id) return waits;
  const [run] = await tx.objectStore('answered').getAll(IDBKeyRange.lowerBound(place), 1);
  const found = run && opsOf(run).find((each) => each.id === id);
  return found && KEPT.has(found.result) ? found : undefined;
}

/**
 * Everything that was answered waits again, in its former place, but for what was refused and is shown as such.
 *
 * @param {any} tx over outbox, answered and meta
 */
export async function sendAnsweredAgain(tx) {
  const { toTake = [] } = await getSync(tx);
  for (const run of await tx.objectStore('answered').getAll()) {
    for (const { n, id, record, op, result } of opsOf(run))
      if (KEPT.has(result) || toTake.includes(run.n)) plainStore(tx, 'outbox').put({ n, id, record, op });
  }
  await tx.objectStore('answered').clear();
}
