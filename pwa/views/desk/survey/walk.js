// How the walk goes: pace and when it will be done, what is read again, and the readings of each kind.

import { useState } from 'preact/hooks';
import { store } from '../../../store/store.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { typedNumber } from '../../inputs/typed_number.js';
import { Problem } from '../../parts/parts.js';
import { useFollowed } from '../../parts/when_heard.js';
import { mayWrite } from '../../record_screens.js';
import { counted, say } from '../../words.js';
import { Answer, Desk, number, Table, useServer } from '../parts.js';
import { StripPlot } from './pictures.js';
import { ReadAgain } from './walk_again.js';

const [HOURS_LEAST, HOURS_MOST] = [0.1, 1000];
const HOURS_A_DAY = 8;

/** @param {{site: Site}} props */
export function Walk({ site }) {
  const turn = useFollowed(site);
  const answer = /** @type {import('../parts.js').Answered<WalkTold>} */ (
    useServer(`/api/sites/${site.id}/walk`, [turn])
  );
  return html`<${Desk} site=${site} at="/walk" title=${say('walk.title')}>
    <p>${say('walk.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {WalkTold} */ told) => html`
      <${Pace} site=${site} pace=${told.pace} />
      <${ReadAgain} site=${site} lots=${told.lots} />
      <${Kinds} site=${site} kinds=${told.kinds} turn=${turn} />`}
    <//>
  <//>`;
}

/** @param {{site: Site, pace: PaceTold}} props */
function Pace({ site, pace }) {
  return html`<section class="card" aria-label=${say('walk.pace')}>
    <h2>${say('walk.pace')}</h2>
    <p class="muted">${say('walk.pace-about')}</p>
    ${
      pace.stated === 0
        ? html`<p class="notice">${say('walk.no-hours')}</p>`
        : html`<${Table} caption=${say('walk.stated', { hours: number(pace.hours, 1) })} numbers=${[1, 2, 3]}
        heads=${['rooms-hour', 'fixtures-hour', 'readings-hour', 'rooms-left'].map((word) => say(`walk.${word}`))}
        rows=${[[number(pace.rooms_hour, 1), number(pace.fixtures_hour, 1), number(pace.readings_hour, 1), number(pace.rooms_left)]]} />`
    }
    <${Left} site=${site} pace=${pace} />
    ${mayWrite(site, 'walk_hours', 'identity') && html`<${Hours} site=${site} />`}
  </section>`;
}

/** @param {{site: Site, pace: PaceTold}} props */
function Left({ site, pace }) {
  const known = useLive(async () => (await site.all('room')).length, [site.id]);
  const [day, setDay] = useState(String(HOURS_A_DAY));
  const rooms = counted(pace.rooms_left, 'room');
  if (pace.rooms_left === 0)
    return (
      known !== undefined && html`<p class="strong">${say(known > 0 ? 'walk.done' : 'desk.no-room-yet')}</p>`
    );
  if (pace.hours_left === null) return pace.stated > 0 && html`<p>${say('walk.left-unknown', { rooms })}</p>`;
  const days = (/** @type {number | null} */ hours) =>
    hours === null ? null : Math.ceil(hours / Number(day) - 1e-9);
  const has = Number(day) > 0;
  return html`<p class="strong">${say('walk.left', { hours: number(pace.hours_left, 1), rooms })}</p>
    <p>${pace.most_hours === null ? say('walk.left-one') : say('walk.left-doubt', { least: number(pace.least_hours, 1), most: number(pace.most_hours, 1) })}</p>
    <div class="field"><label for="walk-day">${say('walk.hours-a-day')}</label>
      <input id="walk-day" type="number" min="1" step="0.5" inputmode="decimal" value=${day} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setDay(event.currentTarget.value)} /></div>
    ${has && html`<p role="status">${say(pace.most_hours === null ? 'walk.days-plain' : 'walk.days', { days: number(days(pace.hours_left)), least: number(days(pace.least_hours)), most: number(days(pace.most_hours)) })}</p>`}`;
}

/** @param {{site: Site}} props */
function Hours({ site }) {
  const [text, setText] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [status, setStatus] = useState('');
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setStatus('');
    const hours = typedNumber(text)?.number ?? Number.NaN;
    if (!(hours >= HOURS_LEAST && hours <= HOURS_MOST))
      return setError({ code: 'walk.hours-wrong', facts: { value: text.trim() || '–' } });
    setError(null);
    try {
      const value = { parent: site.id, hours };
      await site.save([
        /** @type {Draft} */ ({
          record: site.newId(),
          type: 'walk_hours',
          facet: 'identity',
          value,
          seen: null,
        }),
      ]);
      setText('');
      setStatus(say('walk.hours-saved', { hours: number(hours, 1) }));
      await store.syncNow();
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<form class="release" onSubmit=${save}>
    <div class="field"><label for="walk-hours">${say('walk.state-hours')}</label>
      <p class="help" id="walk-hours-help">${say('walk.state-hours-about')}</p>
      <input id="walk-hours" inputmode="decimal" autocomplete="off" aria-describedby="walk-hours-help" value=${text} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setText(event.currentTarget.value)} /></div>
    <button class="button main">${say('walk.state')}</button>
    <${Problem} error=${error} /><p role="status">${status}</p>
  </form>`;
}

/** @param {{site: Site, kinds: WalkTold['kinds'], turn: unknown}} props */
function Kinds({ site, kinds, turn }) {
  return html`<section class="stack" aria-label=${say('walk.kinds')}>
    <h2>${say('walk.kinds')}</h2>
    ${kinds.length === 0 && html`<p class="muted">${say('walk.kinds-none')}</p>`}
    ${kinds.map((kind) => html`<${Kind} key=${kind.kind} site=${site} kind=${kind} turn=${turn} />`)}
  </section>`;
}

/** Its picture is asked for when it is opened. @param {{site: Site, kind: WalkTold['kinds'][0], turn: unknown}} props */
function Kind({ site, kind, turn }) {
  const [opened, setOpened] = useState(false);
  return html`<details onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${say(kind.is_never ? 'walk.kind-never' : 'walk.kind', { mark: kind.mark, readings: counted(kind.readings, 'reading') })}</summary>
    ${opened && html`<${Strip} site=${site} kind=${kind.kind} turn=${turn} />`}
  </details>`;
}

/** @param {{site: Site, kind: string, turn: unknown}} props */
function Strip({ site, kind, turn }) {
  const answer = /** @type {import('../parts.js').Answered<StripTold>} */ (
    useServer(`/api/sites/${site.id}/walk/readings?kind=${kind}`, [turn])
  );
  return html`<${Answer} answer=${answer}>${(/** @type {StripTold} */ told) => html`<${StripPlot} told=${told} />`}<//>`;
}
