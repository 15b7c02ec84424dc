// Who works where on which day, what is short, and what was signed.

import { useState } from 'preact/hooks';
import { facet } from '../../../rules/survey.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { once } from '../../once.js';
import { Mark, Problem } from '../../parts/parts.js';
import { mayWrite, titleOf } from '../../record_screens.js';
import { assignment } from '../../today/assignment.js';
import { dayOf, holdersOn } from '../../today/days.js';
import { pickingList } from '../../today/picking_list.js';
import { byRoom, readDay } from '../../today/read_day.js';
import { fixtureLines, standingOfSignOff } from '../../today/signed.js';
import { choiceText, counted, say, timeText } from '../../words.js';
import { Desk, Table, useServer } from '../parts.js';

/** @typedef {import('../../today/read_day.js').Day} Day */
/** @typedef {import('../../today/days.js').Holder} Holder */
/** @typedef {{site: Site, day: Day}} OfDay */

/** @param {{site: Site}} props */
export function Days({ site }) {
  const day = useLive(() => readDay(site), [site.id]);
  return html`<${Desk} site=${site} at="/days" title=${say('place.days')}>
    ${
      day &&
      (day.jobs.length === 0
        ? html`<p class="notice">${say('crew.nothing-released')}</p>`
        : html`<${Rooms} site=${site} day=${day} />
        <${Shorts} day=${day} />
        <${SignOffs} site=${site} day=${day} />`)
    }
  <//>`;
}

/** Rooms with work left, and who has them on a day. @param {OfDay} props */
function Rooms({ site, day }) {
  const [on, setOn] = useState(dayOf(new Date()));
  const [who, setWho] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const holders = holdersOn(/** @type {RecordView<'assignment'>[]} */ (day.survey.ofType('assignment')), on);
  const people = useCrew(site);
  const may = mayWrite(site, 'assignment');
  /** @param {string} room @param {'assigned' | 'given-back'} deed @param {{id?: string | null, name: string}} holder */
  const save = async (room, deed, holder) => {
    setError(null);
    if (!on) return setError({ code: 'days.day-missing' });
    if (!holder.name) return setError({ code: 'days.who-missing' });
    try {
      await site.save([assignment(site, room, on, deed, holder)]);
    } catch (problem) {
      setError(problem);
    }
  };
  const chosen = { id: people.find(({ name }) => name === who.trim())?.id, name: who.trim() };
  return html`<section class="card" aria-label=${say('days.rooms')}>
    <h2>${say('days.rooms')}</h2>
    <div class="side-by-side">
      <label class="field"><span class="label">${say('days.day')}</span>
        <input type="date" value=${on} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setOn(event.currentTarget.value)} /></label>
      ${
        may &&
        html`<label class="field"><span class="label">${say('days.who')}</span>
        <input list="crew" maxlength="80" autocomplete="off" value=${who} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setWho(event.currentTarget.value)} />
        <datalist id="crew">${people.map(({ id, name }) => html`<option key=${id} value=${name}></option>`)}</datalist></label>`
      }
    </div>
    <p class="muted small">${say('days.who-help')}</p>
    <${Problem} error=${error} />
    ${day.floors.map(({ floor, jobs }) => {
      const rooms = byRoom(jobs.filter((job) => day.jobs.includes(job)));
      return (
        rooms.length > 0 &&
        html`<${Table} key=${floor.id} caption=${titleOf(floor)} numbers=${[1]} stacks heads=${[say('page.room'), say('days.left'), say('days.has-it'), ...(may ? [say('days.give')] : [])]}
        rows=${rooms.map(({ room, left, fixtures }) => [
          html`<a class="tall" href=${`/s/${site.id}/room/${room.id}`}>${titleOf(room)}</a>`,
          say('days.left-of', { left, fixtures }),
          html`<${Holders} holders=${holders.get(room.id) ?? []} onTake=${may ? (/** @type {Holder} */ each) => save(room.id, 'given-back', { id: each.person, name: each.who }) : undefined} room=${titleOf(room)} />`,
          ...(may
            ? [
                html`<button type="button" class="button" aria-label=${say('days.assign-room', { room: titleOf(room) })} onClick=${once(() => save(room.id, 'assigned', chosen))}>${say('days.assign')}</button>`,
              ]
            : []),
        ])} />`
      );
    })}
  </section>`;
}

/** @param {{holders: Holder[], room: string, onTake?: (holder: Holder) => void}} props */
function Holders({ holders, room, onTake }) {
  if (holders.length === 0) return html`–`;
  return html`<ul class="holders">${holders.map(
    (each) => html`<li key=${each.person ?? each.who}>
      <span>${each.who} (${choiceText(each.deed)})</span>
      ${onTake && html`<button type="button" class="button plain" aria-label=${say('days.take-back-from', { who: each.who, room })} onClick=${() => onTake(each)}>${say('days.take-back')}</button>`}
    </li>`,
  )}</ul>`;
}

/** Who of the crew is on the site; nobody while there is no network: then a name is typed. @param {Site} site @returns {Array<{id: string, name: string}>} */
function useCrew(site) {
  const answer = useServer(`/api/sites/${site.id}/people`, []);
  const { people = [] } = /** @type {{people?: PersonOfSite[]}} */ (answer.told ?? {});
  return people.filter(({ role, state }) => role === 'crew' && state === 'active');
}

/** What crews were short of when they picked. @param {{day: Day}} props */
function Shorts({ day }) {
  const short = pickingList(day.jobs, day.pickings).flatMap(({ sort, item, parts }) =>
    parts.filter((part) => part.short > 0).map((part) => ({ sort, item, part })),
  );
  return html`<div class="card">
    <h2>${say('days.short')}</h2>
    ${
      short.length === 0
        ? html`<p>${say('days.nothing-short')}</p>`
        : html`<${Table} caption=${say('days.short')} numbers=${[1, 2]} stacks heads=${[say('fitted.item'), say('days.missing'), say('days.wanted'), say('page.room')]}
        rows=${short.map(({ sort, item, part }) => [[choiceText(sort), item].filter(Boolean).join(': '), part.short, part.wanted, titleOf(part.room)])} />`
    }
  </div>`;
}

/** What was signed, and whether it is still so. @param {OfDay} props */
function SignOffs({ site, day }) {
  const read = useLive(() => readSignOffs(day), [day]);
  if (!read) return null;
  return html`<div class="card">
    <h2>${say('days.signed')}</h2>
    ${
      read.length === 0
        ? html`<p>${say('days.nothing-signed')}</p>`
        : html`<${Table} caption=${say('days.signed')} stacks heads=${[say('days.place'), say('days.signed-by'), say('days.when'), say('days.what'), say('days.stands')]}
        rows=${read.map(({ signOff, place, holds, later }) => {
          const { name, noted_at: at, subject, ...counts } = facet(signOff, 'identity');
          return [
            html`<a class="tall" href=${`/s/${site.id}/sign/${subject}`}>${place ? titleOf(place) : say('sign.not-here')}</a>`,
            name,
            timeText(at ?? ''),
            say('days.counts', {
              done: counts.done,
              fixtures: counts.fixtures,
              differs: counts.differs ?? 0,
            }),
            holds
              ? html`<${Mark} look="done">${say('days.holds')}<//>`
              : html`<${Mark} look="attention">${later > 0 ? say('days.later', { fixtures: counted(later, 'fixture') }) : say('sign.changed-since')}<//>`,
          ];
        })} />`
    }
  </div>`;
}

/** Every sign-off, the newest first. @param {Day} day */
async function readSignOffs(day) {
  const every = day.floors.flatMap(({ jobs }) => jobs);
  const signOffs = /** @type {RecordView<'sign_off'>[]} */ (day.survey.ofType('sign_off'));
  const found = await Promise.all(
    signOffs.map(async (signOff) => {
      const { subject, noted_at: at } = facet(signOff, 'identity');
      const lines = fixtureLines(every.filter(({ room }) => room.id === subject || room.parent === subject));
      const { holds, later } = await standingOfSignOff(signOff, lines);
      const place = /** @type {RecordView<'room'> | RecordView<'floor'> | undefined} */ (
        day.survey.get(subject)
      );
      return { signOff, place, holds, later: later.length, at: at ?? '' };
    }),
  );
  return found.sort((a, b) => (a.at < b.at ? 1 : -1));
}
