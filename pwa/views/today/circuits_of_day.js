// Shutdown by circuit: for each circuit of the day, the rooms that go dark together.

import { Hazards } from '../crew/hazards.js';
import { html } from '../html.js';
import { Caution, Mark } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { circuitsOf } from './circuits.js';
import { ListOfDay } from './scope.js';

/** @typedef {import('./circuits.js').Circuit} Circuit */

/** @param {{site: Site}} props */
export function CircuitsOfDay({ site }) {
  return html`<${ListOfDay} site=${site} title=${say('today.circuits')}>
    ${(
      /** @type {import('./read_day.js').Day} */ day,
      /** @type {import('../crew/jobs.js').Job[]} */ jobs,
    ) => html`
      <${Hazards} of=${jobs} />
      <${Caution}>${say('circuits.caution')}<//>
      ${circuitsOf(day.survey, jobs).map((circuit) => html`<${OfCircuit} key=${`${circuit.panel}|${circuit.circuit}`} circuit=${circuit} />`)}`}
  <//>`;
}

/** @param {{circuit: Circuit}} props */
function OfCircuit({ circuit: { panel, circuit, volts, rooms, left, sharedNeutral, secondSource } }) {
  const named = panel !== '';
  const title = named ? say('circuits.panel-circuit', { panel, circuit }) : say('circuits.not-seen');
  return html`<section class="card" aria-label=${title}>
    <h2>${title}</h2>
    <p>${[volts.length > 0 && `${volts.join(', ')} V`, say('circuits.left-on-it', { fixtures: counted(left, 'fixture') })].filter(Boolean).join('; ')}</p>
    ${!named && html`<p class="problem">${say('circuits.find-it-first')}</p>`}
    ${sharedNeutral && html`<${Caution}>${say('circuits.shared-neutral')}<//>`}
    ${secondSource && html`<${Caution}>${say('circuits.second-source')}<//>`}
    <p class="label">${say(named ? 'circuits.go-dark' : 'circuits.rooms-of-it')}</p>
    <ul class="rows">${rooms.map(
      ({ room, fixtures, left: here }) => html`<li class="row-text" key=${room.id}>
        <span class="strong">${titleOf(room)}</span>
        <span class="marks"><${Mark} look=${here > 0 ? '' : 'done'}>${here > 0 ? say('home.crew-left', { left: here, all: fixtures }) : say('circuits.no-work-there')}<//></span>
      </li>`,
    )}</ul>
  </section>`;
}
