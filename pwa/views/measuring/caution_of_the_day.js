// The caution of the ladder: open the first time of a day, folded from the first key on; open anew each time where LED tubes
// are in the sockets, since what one knows of other bodies does not hold there.

import { useState } from 'preact/hooks';
import { keep, kept } from '../../store/kept.js';

const SEEN = 'caution.tape';
const CAUTIONS = /** @type {Record<string, string>} */ ({
  'led-tube-on-mains': 'readings.caution-led-on-mains',
  'led-tube-on-the-ballast': 'readings.caution-led',
  'led-tube-on-own-driver': 'readings.caution-led',
});

/** What a tape meets between the sockets of such lamps. @param {{fitted?: string}} lamps */
export const tapeCaution = ({ fitted = '' }) => CAUTIONS[fitted] ?? 'readings.caution';

/** Whether it is another hazard than that of most bodies. @param {{fitted?: string}} lamps */
const isOther = ({ fitted = '' }) => fitted in CAUTIONS;

/** The phone's own day. @param {Date} now */
export const dayOf = (now) => `${now.getFullYear()}-${now.getMonth() + 1}-${now.getDate()}`;

/** Whether it stands open when somebody starts to measure. @param {{fitted?: string}} lamps @param {unknown} seen the day it was folded last @param {Date} now */
export const startsOpen = (lamps, seen, now) => isOther(lamps) || seen !== dayOf(now);

/** Whether the caution stands open, and what opens or folds it. @param {{fitted?: string}} lamps @returns {[boolean, (open: boolean) => void]} */
export function useCautionOfTheDay(lamps) {
  const [open, setOpen] = useState(() => startsOpen(lamps, kept(SEEN), new Date()));
  /** @param {boolean} next */
  const turn = (next) => {
    if (!next && !isOther(lamps)) keep(SEEN, dayOf(new Date()));
    setOpen(next);
  };
  return [open, turn];
}
