// The foreman signs a room or a floor: what is done, what is open, what differs; and what was noted after it was signed.

import { useState } from 'preact/hooks';
import { facet } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { fixturePath } from '../scanning/find_label.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Facts, Mark, Problem, Row } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { NotHeard, useHeard } from '../parts/when_heard.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { choiceText, say, timeText } from '../words.js';
import { readDay } from './read_day.js';
import { useSigning } from './kept_signature.js';
import { pictureOf, SignaturePad } from './signature_pad.js';
import { ranges } from './ranges.js';
import { contentOf, countsOf, fixtureLines, signOffOf, standingOfSignOff, untestedOf } from './signed.js';

/** @typedef {import('./signed.js').FixtureLine} FixtureLine */
/** @typedef {NonNullable<Awaited<ReturnType<typeof readSubject>>>} SubjectRead */

/** @param {Site} site @param {string} id a room or floor */
async function readSubject(site, id) {
  const day = await readDay(site);
  const subject = /** @type {RecordView<'room'> | RecordView<'floor'> | undefined} */ (day.survey.get(id));
  if (!subject) return null;
  const every = day.floors.flatMap(({ jobs }) => jobs);
  const lines = fixtureLines(every.filter(({ room }) => room.id === id || room.parent === id));
  const signOff = signOffOf(/** @type {RecordView<'sign_off'>[]} */ (day.survey.ofType('sign_off')), id);
  const standing = signOff ? await standingOfSignOff(signOff, lines) : null;
  return { subject, lines, signOff, standing, untested: untestedOf(day.survey, lines) };
}

/** @param {{params: {subject: string}, site: Site}} props */
export function SignOff({ params, site }) {
  const read = useLive(() => readSubject(site, params.subject), [params.subject]);
  const title = read ? say('sign.title', { place: titleOf(read.subject) }) : say('today.sign');
  return html`<${Page} title=${title} over=${site.name} back=${`/s/${site.id}/today`} site=${site.id} look="form">
    ${read === null && html`<p class="notice">${say('sign.not-here')}</p>`}
    ${read && html`<${Shown} site=${site} read=${read} />`}
  <//>`;
}

/** @param {{site: Site, read: SubjectRead}} props */
function Shown({ site, read }) {
  const { lines, subject, untested } = read;
  // What is signed is told whole, or not yet.
  const heard = useHeard(site);
  if (lines.length === 0) return html`<p class="notice">${say('crew.nothing-released')}</p>`;
  const rest = lines.filter((line) => isTold(line));
  const open = openByGroup(lines);
  return html`
    <${NotHeard} site=${site} />
    <${Signed} site=${site} read=${read} />
    <section class="card" aria-label=${say('sign.what-is-signed')}>
      <h2>${say('sign.what-is-signed')}</h2>
      <${CountFacts} counts=${countsOf(lines)} />
      ${
        rest.length + open.length > 0
          ? html`<p class="label">${say('sign.not-as-released')}</p><ul class="rows">${rest.map((line) => html`<${LineRow} key=${`${line.job.group.id} ${line.position}`} site=${site} line=${line} />`)}${open.map((some) => html`<${OpenRow} key=${some[0].job.group.id} site=${site} lines=${some} />`)}</ul>`
          : html`<p>${say('sign.all-done')}</p>`
      }
      ${untested.length > 0 && html`<${Untested} site=${site} untested=${untested} />`}
    </section>
    ${heard && mayWrite(site, 'sign_off') && html`<${SignForm} site=${site} subject=${subject.id} lines=${lines} />`}`;
}

/** What is told fixture by fixture: all but what is done as released and what nobody has begun. @param {FixtureLine} line */
const isTold = (line) =>
  line.differs || line.outcome === 'problem' || line.outcome === 'skipped' || isUndone(line);

/** Noted as done, and not done after all: somebody has begun it. @param {FixtureLine} line */
const isUndone = ({ outcome, record }) => outcome === 'open' && record !== undefined;

/** What nobody has begun, group by group. @param {FixtureLine[]} lines @returns {FixtureLine[][]} */
function openByGroup(lines) {
  /** @type {Map<string, FixtureLine[]>} */
  const found = new Map();
  for (const line of lines.filter((each) => each.outcome === 'open' && !isUndone(each)))
    found.set(line.job.group.id, [...(found.get(line.job.group.id) ?? []), line]);
  return [...found.values()];
}

/** Fixtures of one group that nobody has begun. @param {{site: Site, lines: FixtureLine[]}} props */
function OpenRow({ site, lines }) {
  const [{ job, position }] = lines;
  return html`<${Row} href=${fixturePath(site.id, job.group.id, position)}
    title=${say('sign.fixtures-of', { room: titleOf(job.room), mark: job.kind?.facets.identity?.mark ?? '', positions: ranges(lines.map((line) => line.position)) })}
    end=${html`<${Mark} look="attention">${say('sign.not-begun')}<//>`} />`;
}

/** @param {{counts: import('./signed.js').Counts}} props */
export function CountFacts({ counts }) {
  return html`<${Facts} facts=${[
    [say('sign.fixtures'), counts.fixtures],
    [say('sign.done'), counts.done],
    [say('sign.problems'), counts.problems],
    [say('sign.skipped'), counts.skipped],
    [say('sign.open'), counts.open],
    [say('sign.differs'), counts.differs],
  ]} />`;
}

/** @param {{site: Site, line: FixtureLine}} props */
function LineRow({ site, line }) {
  const { job, position, outcome, differs, record } = line;
  const word = isUndone(line) ? record?.facets.identity?.outcome : outcome;
  return html`<${Row} href=${fixturePath(site.id, job.group.id, position)}
    title=${say('today.fixture', { room: titleOf(job.room), mark: job.kind?.facets.identity?.mark ?? '', position })}
    end=${html`<span class="marks">
      <${Mark} look=${outcome === 'done' ? 'done' : 'attention'}>${choiceText(word)}<//>
      ${differs && html`<${Mark} look="attention">${say('sign.differs-mark')}<//>`}
    </span>`} />`;
}

/** @param {{site: Site, untested: SubjectRead['untested']}} props */
function Untested({ site, untested }) {
  return html`<p class="label">${say('sign.untested')}</p>
    <p>${say('crew.emergency-code')}</p>
    <ul class="rows">${untested.map(
      ({
        line: { job, position },
        state,
      }) => html`<${Row} key=${`${job.group.id} ${position}`} href=${fixturePath(site.id, job.group.id, position)}
      title=${say('today.fixture', { room: titleOf(job.room), mark: job.kind?.facets.identity?.mark ?? '', position })}
      end=${html`<${Mark} look="attention">${choiceText(state)}<//>`} />`,
    )}</ul>`;
}

/** The newest sign-off, and what was noted later. @param {{site: Site, read: SubjectRead}} props */
function Signed({ site, read: { signOff, standing } }) {
  if (!signOff || !standing) return null;
  const said = facet(signOff, 'identity');
  return html`<section class=${standing.holds ? 'card' : 'notice bad stack'} aria-label=${say('sign.signed')}>
    <h2>${standing.holds ? say('sign.signed') : say('sign.changed-since')}</h2>
    <p>${say('sign.who-and-when', { name: said.name, time: timeText(said.noted_at ?? ''), how: said.signed_by })}</p>
    <p class="muted small">${say('sign.fingerprint', { content: said.content.slice(0, SHOWN) })}</p>
    <${Photos} site=${site} subject=${signOff.id} />
    ${!standing.holds && html`<${CountFacts} counts=${{ ...NONE, ...said }} />`}
    ${
      standing.later.length > 0 &&
      html`<p class="label">${say('sign.noted-later')}</p>
      <ul class="rows">${standing.later.map((line) => html`<${LineRow} key=${`${line.job.group.id} ${line.position}`} site=${site} line=${line} />`)}</ul>`
    }
  </section>`;
}

/** So many letters of a fingerprint are read by people. */
const SHOWN = 12;
const NONE = { problems: 0, skipped: 0, open: 0, differs: 0 };

/** @param {{site: Site, subject: string, lines: FixtureLine[]}} props */
function SignForm({ site, subject, lines }) {
  const signing = useSigning(site, `sign-off.${subject}`, () => contentOf(lines), store.person?.name);
  const { name, drawn } = signing;
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(false);
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!name.trim()) return setError({ code: 'sign.name-missing' });
    setError(null);
    try {
      if (await signing.hasChanged()) return setError({ code: 'acceptance.changed-meanwhile' });
      await sign(site, subject, lines, name.trim(), drawn && (await pictureOf(drawn)));
      signing.forget();
      setSaved(true);
    } catch (problem) {
      setError(problem);
    }
  };
  if (saved) return html`<p class="saved" role="status"><span>${say('sign.saved')}</span></p>`;
  return html`<form class="card" onSubmit=${submit} aria-label=${say('today.sign')}>
    <div class="field">
      <label for="name">${say('sign.name')}</label>
      <input id="name" maxlength="80" autocomplete="name" value=${name} aria-invalid=${error ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => signing.setName(event.currentTarget.value)} />
    </div>
    <${SignaturePad} strokes=${signing.strokes} wasKept=${signing.wasKept} onReady=${signing.onReady} onStrokes=${signing.onStrokes} />
    <p class="muted">${say('sign.what-it-means')}</p>
    <${Problem} error=${error} />
    <button class="button main">${say(drawn ? 'sign.sign' : 'sign.sign-by-name')}</button>
  </form>`;
}

/** @param {Site} site @param {string} subject @param {FixtureLine[]} lines as they are shown @param {string} name @param {Blob | null} signature */
async function sign(site, subject, lines, name, signature) {
  const record = site.newId();
  const value = {
    parent: site.id,
    subject,
    name,
    signed_by: signature ? 'drawn-signature' : 'typed-name',
    ...countsOf(lines),
    content: await contentOf(lines),
    noted_at: new Date().toISOString(),
  };
  /** @type {Draft[]} */
  const first = [{ record, type: 'sign_off', facet: 'identity', seen: null, value }];
  // In one go: what is said to be signed by hand is never here without the picture.
  if (signature) await site.addPhoto({ subject: record, purpose: 'signature', blob: signature, first });
  else await site.save(first);
}
