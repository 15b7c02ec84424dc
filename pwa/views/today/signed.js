// What a foreman signs: each fixture of a room or floor as it stands; and what was noted after somebody signed.

import { byPlace, differs, fittedFingerprint, newest, placeOf } from '../../rules/installing/outcomes.js';
import { PASSED, testState } from '../../rules/installing/punch_list.js';
import { cardOf, emergencyPositions } from '../../rules/installing/noted.js';
import { facet } from '../../rules/survey.js';
import { fingerprintOfContent } from '../../store/fingerprint.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** One fixture as it stands; `open`: nothing was noted that holds. @typedef {{job: Job, position: number, outcome: 'done' | 'problem' | 'skipped' | 'open', differs: boolean, record: RecordView<'installation'> | undefined}} FixtureLine */
/** @typedef {{fixtures: number, done: number, problems: number, skipped: number, open: number, differs: number}} Counts */

const TOLD = /** @type {const} */ (['done', 'problem', 'skipped']);

/** @param {Job[]} jobs in the order of the walk @returns {FixtureLine[]} */
export const fixtureLines = (jobs) =>
  jobs.flatMap((job) =>
    job.positions.map((position) => {
      const noted = job.told.get(position);
      const outcome = TOLD.find((each) => each === noted?.outcome) ?? 'open';
      const otherwise = noted !== undefined && differs(noted.record);
      return { job, position, outcome, differs: otherwise, record: noted?.record };
    }),
  );

/** @param {FixtureLine[]} lines @returns {Counts} */
export function countsOf(lines) {
  const count = (/** @type {(line: FixtureLine) => boolean} */ is) => lines.filter(is).length;
  return {
    fixtures: lines.length,
    done: count(({ outcome }) => outcome === 'done'),
    problems: count(({ outcome }) => outcome === 'problem'),
    skipped: count(({ outcome }) => outcome === 'skipped'),
    open: count(({ outcome }) => outcome === 'open'),
    differs: count((line) => line.differs),
  };
}

/** Fingerprint of what is shown: which fixture, what was noted, and what was fitted where it differs. @param {FixtureLine[]} lines @returns {Promise<string>} */
export const contentOf = (lines) =>
  fingerprintOfContent(
    [...lines]
      .map(({ job, position, outcome, differs: otherwise, record }) => [
        job.group.id,
        position,
        outcome,
        record?.id ?? '',
        otherwise && record ? fittedFingerprint(record) : '',
      ])
      .sort(([a, at], [b, bt]) => (a === b ? Number(at) - Number(bt) : String(a) < String(b) ? -1 : 1)),
  );

/** The newest sign-off of a room or floor. @param {RecordView<'sign_off'>[]} signOffs @param {string} subject */
export const signOffOf = (signOffs, subject) =>
  signOffs
    .filter((each) => facet(each, 'identity').subject === subject)
    .sort(byPlace)
    .at(-1);

/**
 * How a sign-off stands: whether what it was put to is still so, and which fixtures were noted later.
 *
 * @param {RecordView<'sign_off'>} signOff @param {FixtureLine[]} lines as they are now
 * @returns {Promise<{holds: boolean, later: FixtureLine[]}>}
 */
export async function standingOfSignOff(signOff, lines) {
  const holds = (await contentOf(lines)) === facet(signOff, 'identity').content;
  const later = lines.filter(({ record }) => record && placeOf(record) > placeOf(signOff));
  return { holds, later: holds ? [] : later };
}

/**
 * Emergency lights that are done and of which no passed test is noted, each with what its newest test says, or that there is none.
 *
 * @param {import('../../rules/survey.js').Survey} survey @param {FixtureLine[]} lines
 * @returns {Array<{line: FixtureLine, state: string}>}
 */
export function untestedOf(survey, lines) {
  return lines.flatMap((line) => {
    const { job, position, outcome } = line;
    const card = cardOf({ conversion: job.conversion });
    if (outcome !== 'done' || !emergencyPositions(card).includes(position)) return [];
    const tests = /** @type {RecordView<'emergency_test'>[]} */ (
      survey.children(job.group, 'emergency_test')
    );
    const state = testState(
      newest(tests.filter((each) => facet(each, 'identity').position === position)),
      card.emergency?.wanted_min,
    );
    return state === PASSED ? [] : [{ line, state }];
  });
}
