// One fixture as the crew meets it: what hangs here, what to take out, what to fit, and what came of it.

import { useEffect, useRef, useState } from 'preact/hooks';
import { spaced } from '../../rules/codes.js';
import { fixturesOf, isPosition } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { beIn } from '../surveying/last_room.js';
import { say, timeText } from '../words.js';
import { DeskSays } from '../today/desk_says.js';
import { ActHere, ScanNext } from './act_here.js';
import { EmergencyTest } from './emergency_test.js';
import { choosePath, fixturePath } from '../scanning/find_label.js';
import { FittedNow, nowPath } from './fitted_now.js';
import { fixtureOf, nextOpen, readGroup } from './fixture_facts.js';
import { Hazards } from './hazards.js';
import { History } from './history.js';
import { LabelsOn } from '../scanning/label.js';
import { LightAtFixture } from './light_reading.js';
import { Outcome } from './outcome.js';
import { Partner } from './partner.js';
import { NotedNear } from './noted_near.js';
import { RecalledHere } from './recalled_here.js';
import { isLocked, readStanding } from './standing_facts.js';
import { StandingNotice } from './standing_notice.js';
import { Stops } from './stops.js';
import { SurveyNotes } from './survey_notes.js';
import { WorkAllowed } from '../parts/work_hours.js';
import { NotReleased } from './unreleased.js';
import { useCheckedOff } from './visits.js';
import { WorkCard } from './work_card.js';

/** The customer's facility manager reads what is fitted; all others, what is to be done. @param {{site: Site, params: {group: string, position: string}}} props */
export const FixtureForRole = (props) =>
  props.site.role === 'facility' ? html`<${FittedNow} ...${props} />` : html`<${Fixture} ...${props} />`;

/** @param {{site: Site, params: {group: string, position: string}}} props */
function Fixture({ site, params }) {
  const position = Number(params.position);
  const code = new URLSearchParams(location.search).get('code') ?? '';
  const read = useLive(() => readGroup(site, params.group), [site.id, params.group]);
  const told = useLive(() => readStanding(site, params.group, position), [site.id, params.group, position]);
  const stands = told && told.conversion !== read?.conversion?.id ? undefined : told;
  const checkingOff = useCheckedOff(site, params.group, read, position);
  const [stopped, setStopped] = useState(0);
  const checks = useRef(/** @type {HTMLElement | null} */ (null));
  const room = read?.room?.id;
  useEffect(() => {
    if (room) beIn(site.id, room);
  }, [room]);
  const back = `/s/${site.id}/scan`;
  if (read === undefined)
    return html`<${Page} title=${say('page.fixture')} back=${back} site=${site.id} look="form" />`;
  if (read === null || !Number.isInteger(position) || position < 1) {
    return html`<${Page} title=${say('page.fixture')} back=${back} site=${site.id} look="form"><${NotHere} site=${site} /><//>`;
  }
  const here = fixtureOf(read, position);
  const title = say('crew.fixture-of', {
    mark: read.kind?.facets.identity?.mark ?? say('page.fixture'),
    position,
    positions: read.positions.length,
  });
  const place = [read.room && titleOf(read.room), read.floor && titleOf(read.floor)]
    .filter(Boolean)
    .join(', ');
  const isDone = read.done.has(position);
  const acts = read.conversion && mayWrite(site, 'installation');
  return html`<${Page} title=${title} over=${place} back=${back} site=${site.id} look="form"
    act=${acts && html`<${ActHere} key=${position} site=${site} isDone=${isDone} checks=${checks} />`}>
    <${Hazards} of=${[read]} />
    ${room && html`<${NotedNear} site=${site} room=${room} here=${{ group: read.group.id, position }} />`}
    ${site.entry.archived_at && html`<p class="notice">${say('sites.archived-since', { time: timeText(site.entry.archived_at) })}</p>`}
    <${StandingNotice} site=${site} stands=${stands} />
    <${RecalledHere} site=${site} read=${read} position=${position} />
    <${WorkAllowed} room=${read.room} />
    <${SurveyNotes} site=${site} of=${read} />
    <${OddLabel} code=${code} labels=${here.labels} />
    <${OddPosition} read=${read} position=${position} />
    <${DeskSays} site=${site} newest=${here.newest} />
    <${History} site=${site} read=${read} position=${position} history=${here.history} />
    <${Partner} site=${site} read=${read} position=${position} />
    ${
      read.conversion && stands?.now.standing !== 'withdrawn'
        ? html`<${WorkCard} site=${site} read=${read} position=${position} checkingOff=${mayWrite(site, 'visit') ? checkingOff : undefined}>
            <${Stops} conversion=${read.conversion} onStop=${() => setStopped(stopped + 1)} />
          <//>`
        : html`<${NotReleased} site=${site} read=${read} withdrawn=${stands?.now.standing === 'withdrawn'} />`
    }
    <div ref=${checks} tabindex="-1"><${Outcome} key=${`${read.group.id}.${position}`} site=${site} read=${read} position=${position} checkingOff=${checkingOff} stopped=${stopped} locked=${isLocked(stands)} code=${code || here.labels[0]?.facets.identity?.code} /></div>
    <${EmergencyTest} site=${site} read=${read} position=${position} />
    ${read.room && html`<${LightAtFixture} site=${site} room=${read.room} group=${read.group.id} position=${position} />`}
    <${Next} site=${site} read=${read} position=${position} further=${stands?.further} scans=${!(acts && isDone)} />
    <${Now} site=${site} group=${read.group.id} position=${position} />
    <${LabelsOn} site=${site} labels=${here.labels} />
    ${code && !mayWrite(site, 'label', 'voided') && html`<a class="button wide" href=${choosePath(site.id, code)}>${say('crew.not-this-fixture')}</a>`}
  <//>`;
}

/** @param {{site: Site, group: string, position: number}} props */
const Now = ({ site, group, position }) => html`
  <a class="button wide" href=${nowPath(site, group, position)}>${say('memory.to-it')}</a>
  ${mayWrite(site, 'failure') && html`<a class="button wide" href=${nowPath(site, group, position, 'failure')}>${say('memory.report')}</a>`}`;

/** A scanned label that this phone does not know on this fixture. @param {{code: string, labels: RecordView<'label'>[]}} props */
function OddLabel({ code, labels }) {
  if (!code || labels.some(({ facets }) => facets.identity?.code === code)) return null;
  const others = labels.map(({ facets }) => spaced(facets.identity?.code ?? '')).join(', ');
  return html`<p class="notice">${
    others
      ? say('crew.other-label', { code: spaced(code), others })
      : say('crew.label-kept', { code: spaced(code) })
  }</p>`;
}

/** @param {{read: GroupRead, position: number}} props */
function OddPosition({ read, position }) {
  if (isPosition(read.group, position)) return null;
  const gone = (read.group.facets.count?.gone ?? []).includes(position);
  const over = read.positions.includes(position) ? 'not-counted' : 'over';
  const facts = { position, count: fixturesOf(read.group) };
  return html`<p class="notice bad">${say(`crew.position-${gone ? 'gone' : over}`, facts)}</p>`;
}

/** @param {{site: Site, read: GroupRead, position: number, further?: number[], scans: boolean}} props `further`: fixtures that the release has not; `scans`: the way to the next label is not at the foot */
function Next({ site, read, position, further, scans }) {
  const next = nextOpen(read, position, further);
  return html`<nav class="stack" aria-label=${say('crew.go-on')}>
    ${next !== null && html`<a class="button wide" href=${fixturePath(site.id, read.group.id, next)}>${say('crew.next-here', { next })}</a>`}
    ${scans && html`<${ScanNext} site=${site} look="wide" />`}
    ${read.room && html`<a class="button wide" href=${`/s/${site.id}/today/room/${read.room.id}`}>${say('card.to-the-room', { room: titleOf(read.room) })}</a>`}
  </nav>`;
}
