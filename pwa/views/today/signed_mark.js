// Whether a room or floor is signed, and whether it is still so.

import { facet } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Mark } from '../parts/parts.js';
import { say } from '../words.js';
import { fixtureLines, signOffOf, standingOfSignOff } from './signed.js';

/** @param {{day: import('./read_day.js').Day, subject: string, jobs: import('../crew/jobs.js').Job[]}} props */
export function SignedMark({ day, subject, jobs }) {
  const told = useLive(async () => {
    const signOff = signOffOf(
      /** @type {RecordView<'sign_off'>[]} */ (day.survey.ofType('sign_off')),
      subject,
    );
    return signOff ? { signOff, ...(await standingOfSignOff(signOff, fixtureLines(jobs))) } : null;
  }, [day, subject]);
  if (!told) return null;
  const { name } = facet(told.signOff, 'identity');
  return told.holds
    ? html`<${Mark} look="done">${say('sign.signed-by', { name })}<//>`
    : html`<${Mark} look="attention">${say('sign.changed-since')}<//>`;
}
