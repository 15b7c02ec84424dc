// The bars that were released, judged by all that is read by now. Twin: server/spanwalk/rules/since_release/fit_again.py.

import { judgeGroup } from '../judging/judging.js';
import { facet, has, inOrder } from '../survey.js';
import { change, itemOf, LOOK, STOP, saidBy, same } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */
/** @typedef {import('./seen.js').Said} Said */
/** @template {string} [T=string] @typedef {import('./seen.js').ViewRecord<T>} ViewRecord */

/** The bars that were released, judged by all that is read by now; a reading that raises a question is to be looked at. @param {Seen} seen @returns {Change[]} */
export function fitNow(seen) {
  const { fit: frozen, questions: asked = [] } = seen.facts;
  const { group, kind, room, site } = seen.records;
  if (!frozen || !has(kind, 'lamps')) return [];
  const readings = seen.survey.children(group, 'cavity_reading');
  const trials = seen.survey.children(group, 'trial_bar');
  if (isAsReleased(seen, [...readings, ...trials])) return [];
  const judged = judgeGroup(
    group,
    kind,
    room,
    site,
    readings,
    spreadOf(seen),
    barsOf(seen),
    seen.tables,
    trials,
  );
  const wanted = [...seen.facts.bars].sort(inOrder);
  const fit = judged.fits.find((each) => same([...each.bars].sort(inOrder), wanted));
  const verdict = fit ? fit.verdict : 'too long';
  const found = ['fits', frozen.verdict].includes(verdict)
    ? []
    : [
        change(
          'fit',
          verdict === 'tight' ? LOOK : STOP,
          frozen.verdict,
          verdict,
          newest([...readings, ...trials]),
        ),
      ];
  const questioned = Object.keys(judged.questions)
    .filter((id) => !asked.includes(id))
    .sort(inOrder)
    .map((id) => {
      const reading = /** @type {ViewRecord} */ (seen.survey.get(id));
      const entered = facet(reading, 'identity').as_entered ?? null;
      return change('questioned', LOOK, null, entered, saidBy(reading, 'identity'));
    });
  return [...found, ...questioned];
}

/** Whether nothing that a judgement hangs on was written after the release; see the twin. @param {Seen} seen @param {ViewRecord[]} read */
function isAsReleased(seen, read) {
  const bars = seen.facts.bars.flatMap((id) => seen.survey.get(id) ?? []);
  /** @type {ViewRecord[]} */
  const records = [...Object.values(seen.records), ...read, ...bars];
  return (
    read.length === seen.facts.readings &&
    records.every(
      ({ facets, seqs = {} }) =>
        Object.keys(facets).every((name) => name in seqs) &&
        Object.values(seqs).every((seq) => seq <= seen.head),
    )
  );
}

/** @param {Seen} seen */
function spreadOf(seen) {
  const { squares_ticks2: squares = '0', degrees = 0 } = seen.facts.spread ?? {};
  return { squares_ticks2: BigInt(squares), degrees: Number(degrees) };
}

/** The bars that were released, as the catalogue has them now, offered or not. @param {Seen} seen @returns {ViewRecord<'catalogue_item'>[]} */
const barsOf = (seen) => {
  // As much of an item as is looked at here.
  const items = [...new Set(seen.facts.bars)].map((id) => ({
    id,
    type: 'catalogue_item',
    parent: null,
    removed: false,
    facets: { identity: { item: 'bar', code: seen.released[id]?.code ?? '' }, bar: itemOf(seen, id) },
    conflicts: [],
  }));
  return /** @type {ViewRecord<'catalogue_item'>[]} */ (/** @type {unknown[]} */ (items));
};

/** The newest word among records, by the time of its phone. @param {ViewRecord[]} records @returns {Said} */
function newest(records) {
  const said = records.flatMap((record) => Object.keys(record.facets).map((name) => saidBy(record, name)));
  return said.reduce(
    (best, each) => (each.at && (!best.at || each.at > best.at) ? each : best),
    /** @type {Said} */ ({}),
  );
}
