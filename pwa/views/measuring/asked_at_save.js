// What has to be asked before a reading is saved, one question after another, each answered by one tap.

import { formatInches, formatMm } from '../../rules/measuring/lengths.js';
import { choiceText } from '../words.js';
import { followedTape, OFFERED_TAPES } from './reading_draft.js';

/**
 * An answer: what it changes of what was typed, and its words.
 *
 * @typedef {{says: [code: string, facts: Facts], change: Partial<import('./tape_pad.js').Typed>}} Answer
 * @typedef {{said: Reason[], answers: Answer[]}} Asked the sentences of one question, and what can be answered
 */

/** A length as one would type it. @param {number} ticks [1/320 mm] @param {Units} units */
export const textOf = (ticks, units) =>
  units === 'in' ? formatInches(ticks).replace('≈ ', '') : `${formatMm(ticks).replaceAll(',', '')} mm`;

/**
 * The first question that stands between a reading and 'saved'; null where there is none (left).
 *
 * @param {import('./tape_pad.js').Weighed} weighed what was typed, read and judged
 * @returns {Asked | null}
 */
export function askedAtSave({ typed, read, known, sense }) {
  if (typed.heard) return isItThat(typed.text);
  if (read.question) return whatWasMeant(read.question);
  if (read.unit && followedTape(read.unit, typed.tape, known) === null)
    return whichTape(read.unit, typed.tape);
  return sense.length > 0 && !typed.confirmed && !typed.left ? doesItMakeSense(sense, typed.units) : null;
}

/** What was understood of what was said. @param {string} text @returns {Asked} */
const isItThat = (text) => ({
  said: [{ code: 'ladder.heard', facts: { text } }],
  answers: [{ says: ['ladder.yes-save-it', { text }], change: { heard: false } }],
});

/** A number that can mean two things: what it probably is. @param {Reason & {ticks: number}} question @returns {Asked} */
function whatWasMeant(question) {
  const text = textOf(question.ticks, 'mm');
  return { said: [question], answers: [{ says: ['measuring.yes', { text }], change: { text } }] };
}

/** @param {Units} unit @param {import('./reading_draft.js').Tape} tape @returns {Asked} */
function whichTape(unit, tape) {
  const facts = { tape: tapeText(tape) };
  return {
    said: [{ code: `ladder.which-tape-${unit}`, facts }],
    answers: OFFERED_TAPES[unit].map((each) => ({
      says: ['ladder.tape', { tape: tapeText(each) }],
      change: { tape: each },
    })),
  };
}

/** @param {import('./reading_draft.js').Tape} tape */
const tapeText = ({ instrument, graduation }) =>
  [instrument, graduation].filter(Boolean).map(choiceText).join(', ');

/** @param {Reason[]} sense @param {Units} units @returns {Asked} */
function doesItMakeSense(sense, units) {
  const others = new Set(
    sense.flatMap(({ facts }) => (facts.without_ticks ? [textOf(Number(facts.without_ticks), units)] : [])),
  );
  return {
    said: sense,
    answers: [
      { says: ['measuring.it-is-what-the-tape', {}], change: { confirmed: true } },
      ...[...others].map((text) => ({
        says: /** @type {[string, Facts]} */ (['measuring.it-is', { text }]),
        change: { text },
      })),
      { says: ['ladder.leave-it-open', {}], change: { left: true } },
    ],
  };
}
