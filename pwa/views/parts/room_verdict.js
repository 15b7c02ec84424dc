// What a room's groups are judged to be, in its row of a list: the worst first, told once the row is looked at.

import { useEffect, useRef, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { verdictsOf } from '../measuring/room_verdicts.js';
import { sameAnswer } from '../same_answer.js';
import { say } from '../words.js';
import { Mark } from './parts.js';

/** Green only where all could be released. @type {Record<string, 'attention' | 'done' | ''>} */
const LOOKS = { never: '', 'too-long': 'attention', tight: 'attention', 'cannot-tell': '', 'so-far': '' };

/** @param {import('../measuring/room_verdicts.js').SoMany} soMany */
const soManyText = ({ degree, groups }) =>
  say('room-list.so-many', {
    degree: say(degree === 'so-far' ? 'room-list.so-far' : `degree.${degree}`),
    groups,
  });

/** Its line is there from the start, so that nothing moves when it comes. @param {{site: Site, room: string}} props */
export function RoomVerdict({ site, room }) {
  const verdicts = verdictsOf(site);
  const [told, setTold] = useState(() => verdicts.last(room));
  const line = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    let seen = false;
    const ask = async () => {
      const now = seen ? await verdicts.ask(room, () => seen).catch(() => null) : null;
      if (now && seen) setTold((before) => (sameAnswer(before, now) ? before : now));
    };
    const looking = new IntersectionObserver((entries) => {
      seen = entries[entries.length - 1].isIntersecting;
      ask();
    });
    if (line.current) looking.observe(line.current);
    const stop = store.subscribe(ask);
    return () => {
      seen = false;
      looking.disconnect();
      stop();
    };
  }, [site, room]);
  const [worst, ...others] = told ?? [];
  return html`<span class="detail room-verdict" ref=${line} data-degree=${worst?.degree}>
    ${worst ? html`<${Mark} look=${LOOKS[worst.degree] ?? 'done'}>${soManyText(worst)}<//>${others.map((each) => ` · ${soManyText(each)}`)}` : '\u00a0'}
  </span>`;
}
