// What is in a fixture once some of its parts were replaced. Twin: server/spanwalk/rules/installing/replaced.py.

import { facet } from '../survey.js';

/** @typedef {import('./as_fitted.js').FittedItem} FittedItem */
/** @typedef {import('../survey.js').ViewRecord<'failure'>} Failure */
/** Items of the catalogue by what is printed on them. @typedef {Map<string, import('../survey.js').ViewRecord<'catalogue_item'>>} Catalogue */
/** An item that is or was in a fixture, and how many pieces of it are out. @typedef {{item: FittedItem, out: number}} Piece */

/** What was done of a failure that put another item in. */
const PUT_IN = ['from-spares', 'under-warranty', 'bought'];
const ACCESSORY = 'accessory';

/**
 * What is in a fixture now: of each failure that was mended by another item one piece is out, and what was put in for it is in.
 *
 * @param {FittedItem[]} fitted as it was noted
 * @param {Failure[]} failures those of the fixture
 * @param {Catalogue} catalogue
 * @returns {FittedItem[]} with how many are left of each
 */
export function itemsNow(fitted, failures, catalogue) {
  /** @type {Piece[]} */
  const pieces = fitted.map((item) => ({ item, out: 0 }));
  for (const failure of [...failures].sort(byDay)) {
    const replaced = facet(failure, 'replaced');
    if (!PUT_IN.includes(replaced.how ?? '')) continue;
    const gone = pieceOut(pieces, failure, catalogue);
    if (gone) gone.out += 1;
    if (!replaced.item) continue;
    const kind = facet(catalogue.get(replaced.item), 'identity').item ?? gone?.item.kind ?? ACCESSORY;
    const serials = splitSerials(replaced.serials);
    pieces.push({ item: { kind, code: replaced.item, number: 1, serials }, out: 0 });
  }
  return pieces.filter((each) => left(each) > 0).map((each) => ({ ...each.item, number: left(each) }));
}

/** @param {Piece} piece */
const left = ({ item, out }) => item.number - out;

/** By the day of what was done, then as they were noted. @param {Failure} a @param {Failure} b */
function byDay(a, b) {
  const keys = (/** @type {Failure} */ each) => [
    facet(each, 'replaced').on ?? '',
    facet(each, 'identity').noted_at ?? '',
    each.id,
  ];
  const [one, other] = [keys(a), keys(b)];
  const at = one.findIndex((key, place) => key !== other[place]);
  if (at < 0) return 0;
  return one[at] < other[at] ? -1 : 1;
}

/** Of which item one piece is out; nothing where there is none left, or nobody said of what. @param {Piece[]} pieces @param {Failure} failure @param {Catalogue} catalogue */
function pieceOut(pieces, failure, catalogue) {
  const there = pieces.filter((each) => left(each) > 0 && isOf(each.item, failure, catalogue));
  const numbers = splitSerials(facet(failure, 'identity').serials);
  return there.find(({ item }) => item.serials?.some((each) => numbers.includes(each))) ?? there[0];
}

/** @param {FittedItem} item @param {Failure} failure @param {Catalogue} catalogue */
function isOf({ code }, failure, catalogue) {
  const folded = (/** @type {string | undefined} */ text) => (text ?? '').toLowerCase();
  const named = folded(facet(failure, 'identity').item);
  if (named) return folded(code) === named;
  const putIn = folded(facet(failure, 'replaced').item);
  const successor = folded(facet(catalogue.get(code), 'retired').replaced_by);
  return putIn !== '' && [folded(code), successor].includes(putIn);
}

/** Batch or serial numbers that were written into one field. @param {string | undefined} serials */
const splitSerials = (serials) =>
  (serials ?? '')
    .split(/[;,]/)
    .map((each) => each.trim())
    .filter(Boolean);
