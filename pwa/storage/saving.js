// What one save writes: operations into the outbox, each shown at once; the newest rewritten where nobody has seen it.

import { sameValue } from './canonical.js';
import { saidBy, showMine } from './merging.js';
import { IDENTITY, LIFE, shown } from './records.js';

/** @typedef {import('./types.js').Draft} Draft */
/** @typedef {import('./types.js').Operation} Operation */
/** @typedef {import('./types.js').Waiting} Waiting */
/** @typedef {import('./types.js').Phone} Phone */
/** @typedef {import('./types.js').LocalRecord} LocalRecord */
/** @typedef {{record: string, type: string, facet: string, kind: Operation['kind'], before: import('./types.js').Value | null, op: string}} Undone */

/**
 * A save being made.
 *
 * @typedef {object} Save
 * @property {Phone} phone changed in place
 * @property {Waiting | null} newest newest of the outbox, as far as it may be rewritten
 * @property {string} by
 * @property {string} at device time
 * @property {number} spec
 * @property {Waiting[]} put
 * @property {number[]} dropped
 * @property {Undone[]} undone
 */

/**
 * One change of one facet.
 *
 * @param {Save} save changed in place
 * @param {LocalRecord} record changed in place
 * @param {Draft} draft
 */
export function change(save, record, draft) {
  if (draft.takesBack && withdraw(save, record, draft)) return;
  const operation = operationOf(save, record, draft);
  if (saysNothing(record, operation)) return;
  const newest = save.newest;
  if (newest && mayRewrite(save.phone, newest, operation)) {
    operation.seen = newest.op.seen;
    operation.from = newest.op.from;
    save.dropped.push(newest.n);
    save.put = save.put.filter((waiting) => waiting.n !== newest.n);
  }
  const before = shown(record, operation.facet)?.value ?? null;
  enqueue(save, operation);
  showMine(record, operation);
  const { record: id, type, facet, kind } = operation;
  save.undone.push({ record: id, type, facet, kind, before, op: operation.id });
}

/**
 * What was entered where nothing stood, and nobody has seen, is taken out of the outbox again.
 *
 * @param {Save} save changed in place
 * @param {LocalRecord} record changed in place
 * @param {Draft} draft
 */
function withdraw(save, record, { facet, value }) {
  const newest = save.newest;
  const first =
    newest?.op.kind === 'set' &&
    newest.op.from === null &&
    newest.op.settles.length === 0 &&
    facet !== IDENTITY;
  if (!newest || !first || newest.n <= save.phone.sentTo || record.mine[facet]?.op !== newest.id)
    return false;
  if (Object.keys(value ?? {}).length > 0) return false;
  delete record.mine[facet];
  save.dropped.push(newest.n);
  save.newest = null;
  return true;
}

/**
 * Give an operation its id and a place at the end of the outbox.
 *
 * @param {Pick<Save, 'phone' | 'put' | 'newest'>} save changed in place
 * @param {Operation} operation changed in place
 */
export function enqueue(save, operation) {
  const n = save.phone.counter + 1;
  save.phone.counter = n;
  operation.id = `${save.phone.device}.${save.phone.epoch}.${n}`;
  save.newest = { n, id: operation.id, record: operation.record, op: operation };
  save.put.push(save.newest);
}

/** @param {Save} save @param {LocalRecord} record @param {Draft} draft @returns {Operation} */
function operationOf(save, record, draft) {
  const kind = draft.kind ?? 'set';
  return {
    id: '',
    by: save.by,
    record: draft.record,
    type: draft.type,
    facet: kind === 'set' ? draft.facet : LIFE,
    kind,
    seen: kind === 'remove' ? seenOfAll(record, draft) : seenOf(save.phone, record, draft),
    from: shown(record, draft.facet)?.value ?? null,
    to: kind === 'set' ? (draft.value ?? {}) : null,
    settles: draft.settles ?? [],
    device_time: save.at,
    spec: save.spec,
  };
}

/** What a removal saw of every facet, its life too, and what it saw that stays below it. @param {LocalRecord} record @param {Draft} draft @returns {Record<string, string | null>} */
function seenOfAll(record, { staying = [] }) {
  const facets = new Set([...Object.keys(record.facets), ...Object.keys(record.mine)]);
  return Object.fromEntries([
    ...[...facets].map((facet) => [facet, shown(record, facet).op]),
    ...staying.map((id) => [id, null]),
  ]);
}

/** What a form showed, by the id that it has now; what is taken back was this phone's own, whatever has been rewritten since. @param {Phone} phone @param {LocalRecord} record @param {Draft} draft */
function seenOf(phone, record, draft) {
  const seen = draft.seen ?? null;
  const stored = shown(record, draft.kind ? LIFE : draft.facet);
  if (draft.takesBack && stored?.op.startsWith(`${phone.device}.`)) return stored.op;
  // After a fork the old id may be another phone's: it stands for the new one only where that is what is shown.
  const now = seen === null ? undefined : phone.renamed?.[seen];
  return now !== undefined && now === stored?.op ? now : seen;
}

/** The form was opened and closed, nothing was changed. @param {LocalRecord} record @param {Operation} operation */
function saysNothing(record, operation) {
  const stored = shown(record, operation.facet);
  const untouched =
    stored !== undefined && !record.mine[operation.facet]?.refused && operation.settles.length === 0;
  return untouched && operation.seen === stored.op && sameValue(stored.value, saidBy(operation));
}

/**
 * Only the newest of the outbox, a plain set that was in no request and no file, exactly what the form showed.
 *
 * @param {Phone} phone @param {Waiting} newest @param {Operation} operation
 */
function mayRewrite(phone, { n, op }, operation) {
  const plain = [op, operation].every(
    (each) => each.kind === 'set' && each.settles.length === 0 && !each.replaces,
  );
  return (
    plain &&
    n > phone.sentTo &&
    !op.formerly &&
    op.record === operation.record &&
    op.facet === operation.facet &&
    op.spec === operation.spec &&
    op.by === operation.by &&
    operation.seen === op.id
  );
}

/**
 * The changes that take a save back, in the order in which to make them.
 *
 * @param {Undone[]} undone
 * @returns {Draft[]}
 */
export function takeBack(undone) {
  const made = new Set(
    undone.filter((each) => each.facet === IDENTITY && each.before === null).map((each) => each.record),
  );
  return [...undone].reverse().flatMap((each) => {
    const { record, type, facet, op } = each;
    if (each.kind === 'remove') return [restoration(each)];
    if (each.kind === 'restore')
      return [{ record, type, facet: LIFE, kind: /** @type {const} */ ('remove') }];
    if (facet === IDENTITY && made.has(record))
      return [{ record, type, facet: LIFE, kind: /** @type {const} */ ('remove') }];
    return made.has(record)
      ? []
      : [{ record, type, facet, value: each.before ?? {}, seen: op, takesBack: true }];
  });
}

/** @param {Undone} undone @returns {Draft} */
const restoration = ({ record, type, op }) => ({
  record,
  type,
  facet: LIFE,
  kind: 'restore',
  seen: op,
  takesBack: true,
});
