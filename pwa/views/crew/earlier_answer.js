// Why it is asked again: a manager's answer to earlier changes, which holds for what is listed now no more.

import { fingerprintOf } from '../../rules/since_release/standing.js';
import { facet } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { counted, say } from '../words.js';

/** @typedef {import('../../rules/since_release/standing.js').Standing} Standing */
/** @typedef {import('../../rules/since_release/seen.js').Change} Change */

/**
 * For how many fixtures the same was answered: where only the count was raised since. An answer names what it is to by a
 * fingerprint alone, so that lower counts are tried.
 *
 * @param {Change[]} changes those of the group as they are now @param {string} answered fingerprint of what was answered
 * @returns {{before: number, now: number} | null}
 */
export function answeredForFewer(changes, answered) {
  const count = changes.find(({ fact }) => fact === 'group.count.count');
  const further = changes.find(({ fact }) => fact === 'not-in-release');
  if (typeof count?.now !== 'number' || !Array.isArray(further?.now)) return null;
  const { now, before: released } = count;
  const positions = further.now;
  const fewer = (/** @type {number} */ left) =>
    changes.flatMap((each) => {
      if (each === count) return now - left === released ? [] : [{ ...each, now: now - left }];
      if (each !== further) return [each];
      return left === positions.length ? [] : [{ ...each, now: positions.slice(0, -left) }];
    });
  const left = positions.map((_, at) => at + 1).find((each) => fingerprintOf(fewer(each)) === answered);
  return left === undefined ? null : { before: now - left, now };
}

/** @param {{site: Site, conversion: string, group: Standing}} props `group`: how the group stands as a whole */
export function EarlierAnswer({ site, conversion, group }) {
  const record = useLive(() => site.get(conversion), [site.id, conversion]);
  const { answer, changes } = facet(/** @type {RecordView<'conversion'> | undefined} */ (record), 'answer');
  if (!answer || !changes || group.answer || changes === group.fingerprint) return null;
  const fewer = answeredForFewer(group.changes, changes);
  return html`<p role="note">${
    fewer
      ? say('standing.answered-for-fewer', {
          answer,
          before: counted(fewer.before, 'fixture'),
          now: fewer.now,
        })
      : say('standing.answered-before', { answer })
  }</p>`;
}
