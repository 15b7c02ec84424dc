// The caution of the ladder: open the first time of a day, folded from the first key on.

import { useState } from 'preact/hooks';
import { keep, kept } from '../../store/kept.js';

const SEEN = 'caution.tape';

/** The phone's own day. @param {Date} now */
export const dayOf = (now) => `${now.getFullYear()}-${now.getMonth() + 1}-${now.getDate()}`;

/** Whether the caution stands open, and what opens or folds it. @returns {[boolean, (open: boolean) => void]} */
export function useCautionOfTheDay() {
  const [open, setOpen] = useState(() => kept(SEEN) !== dayOf(new Date()));
  /** @param {boolean} next */
  const turn = (next) => {
    if (!next) keep(SEEN, dayOf(new Date()));
    setOpen(next);
  };
  return [open, turn];
}
