// What answers and pulled states do to a record on the phone. Pure. Nothing here replaces what is of a higher sequence.

import { sameValue } from './canonical.js';
import { emptyRecord, LIFE } from './records.js';
import { inCodes, LAST } from './spec_1.js';

/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {import('./types.js').State} State */
/** @typedef {import('./types.js').Operation} Operation */
/** @typedef {import('./types.js').Value} Value */

/**
 * Take a record's state in.
 *
 * @param {LocalRecord} record changed in place
 * @param {State} state
 * @param {(op: string) => Value | undefined} own values of this phone's operations, which a pull leaves out
 * @returns {string[]} ids of operations whose value is neither in the state nor known here
 */
export function mergeState(record, state, own) {
  /** @type {string[]} */
  const missing = [];
  for (const [facet, told] of Object.entries(state.facets)) {
    const stored = record.facets[facet];
    if (stored && stored.seq >= told.seq) continue;
    const value = told.value ?? (stored?.op === told.op ? stored.value : own(told.op));
    if (value === undefined) missing.push(told.op);
    else record.facets[facet] = { ...told, value };
  }
  if (state.seq >= record.seq) {
    record.conflicts = state.conflicts;
    record.seq = state.seq;
  }
  return missing;
}

/**
 * Whether a state of the server's tells nothing that the record does not have: what this phone wrote comes back so.
 *
 * @param {LocalRecord} record @param {State} state
 */
export function isKnown(record, state) {
  if (record.seq < state.seq) return false;
  const conflicts = record.conflicts.map(({ id }) => id).join();
  if (record.seq === state.seq && conflicts !== state.conflicts.map(({ id }) => id).join()) return false;
  return Object.entries(state.facets).every(([facet, { seq }]) => (record.facets[facet]?.seq ?? -1) >= seq);
}

/** The value that an operation gives its facet. @param {Operation} op @returns {Value} */
export function saidBy(op) {
  if (op.facet === LIFE) return { removed: op.kind === 'remove' };
  return op.spec > LAST ? (op.to ?? {}) : inCodes(op.type, op.facet, op.to ?? {});
}

/**
 * An own operation was applied: what it says is now what the server has.
 *
 * @param {LocalRecord} record changed in place
 * @param {Operation} op
 * @param {number} seq
 */
export function applyOwn(record, op, seq) {
  const stored = record.facets[op.facet];
  if (!stored || stored.seq < seq) {
    record.facets[op.facet] = { op: op.id, seq, by: op.by, at: op.device_time, value: saidBy(op) };
  }
  record.conflicts = record.conflicts.filter((conflict) => !op.settles.includes(conflict.id));
  record.seq = Math.max(record.seq, seq);
}

/**
 * An own operation waits no longer.
 *
 * @param {LocalRecord} record changed in place
 * @param {Operation} op
 */
export function forgetMine(record, op) {
  if (record.mine[op.facet]?.op === op.id) delete record.mine[op.facet];
  stopSettling(record, op);
}

/** @param {LocalRecord} record changed in place @param {Operation} op */
export function stopSettling(record, op) {
  for (const [conflict, by] of Object.entries(record.settling)) {
    if (by === op.id) delete record.settling[conflict];
  }
}

/**
 * An own operation stands on the phone, newest of its facet.
 *
 * @param {LocalRecord} record changed in place
 * @param {Operation} op
 * @param {{code: string, facts: Facts}} [refused]
 */
export function showMine(record, op, refused) {
  record.mine[op.facet] = {
    op: op.id,
    by: op.by,
    at: op.device_time,
    value: saidBy(op),
    ...(refused && { refused }),
  };
  if (!refused) for (const conflict of op.settles) record.settling[conflict] = op.id;
}

/**
 * The record after everything was pulled anew: the server's state, and what this phone has not had answered.
 *
 * A removed record is left out of a full pull: whoever brings it back here goes on from what is known of it.
 *
 * @param {LocalRecord | undefined} before
 * @param {State | undefined} state
 * @param {boolean} [keepRemoved] the server has what is known here as removed, and this person may read it
 * @returns {LocalRecord | null} null when nothing is left of it
 */
export function replaceBase(before, state, keepRemoved = false) {
  // Left out, it has no open conflict either: one that is still here was settled elsewhere.
  if (!state && keepRemoved && before?.facets[LIFE]?.value.removed) return { ...before, conflicts: [] };
  const record = before ?? (state ? emptyRecord(state.id, state.type) : null);
  if (!record) return null;
  record.facets = {};
  record.conflicts = [];
  record.seq = 0;
  if (state) mergeState(record, state, () => undefined);
  return state || Object.keys(record.mine).length > 0 ? record : null;
}

/**
 * What only the old copy knows after the server was set back.
 *
 * @param {LocalRecord} before
 * @param {State | undefined} state
 * @param {string} device this phone's own values come back by themselves
 */
export function onlyHere(before, state, device) {
  return Object.entries(before.facets)
    .filter(([facet, stored]) => {
      const now = state?.facets[facet];
      if (stored.op.startsWith(`${device}.`) || now?.op.startsWith(`${device}.`)) return false;
      return now?.op !== stored.op && !sameValue(now?.value, stored.value);
    })
    .map(([facet, stored]) => ({
      record: before.id,
      type: before.type,
      facet,
      by: stored.by,
      at: stored.at,
      value: stored.value,
    }));
}
