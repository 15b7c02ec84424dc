// What is signed, line by line with its SHA-256, and the signatures that are there already: each as it was given.

import { linesSigned, textOf } from '../../rules/installing/acceptance.js';
import { facet } from '../../rules/survey.js';
import { sha256OfBytes } from '../../store/fingerprint.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Facts } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { say, timeText } from '../words.js';
import { lineText } from './lines.js';

/** @typedef {import('../../rules/survey.js').Survey} Survey */
/** @typedef {import('../../rules/installing/acceptance.js').Statement} Statement */

/** Lines before those that say something: the form, and what is covered. */
const HEAD_LINES = 2;

/** @param {{survey: Survey, shown: Statement, short: boolean}} props `short`: the lines stay folded until they are asked for */
export function WhatIsSigned({ survey, shown, short }) {
  const content = useLive(() => sha256OfBytes(textOf(shown.lines)), [textOf(shown.lines)]);
  return html`<section class="card" aria-label=${say('sign.what-is-signed')}>
    <h2>${say('sign.what-is-signed')}</h2>
    <${Counts} fixtures=${shown.fixtures} done=${shown.done} open=${shown.open} />
    <details open=${!short}>
      <summary class="turn">${say('acceptance.line-by-line')}</summary>
      <${Lines} survey=${survey} lines=${shown.lines} />
    </details>
    <p class="muted small fingerprint">${say('acceptance.sha256', { content: content ?? '' })}</p>
  </section>`;
}

/** @param {{fixtures?: number, done?: number, open?: number}} props */
function Counts({ fixtures = 0, done = 0, open = 0 }) {
  return html`<${Facts} facts=${[
    [say('sign.fixtures'), fixtures],
    [say('sign.done'), done],
    [say('acceptance.open-points'), open],
  ]} />`;
}

/** @param {{survey: Survey, lines: string[]}} props */
function Lines({ survey, lines }) {
  return html`<ul class="signed-lines">${lines.slice(HEAD_LINES).map((line) => html`<li key=${line}>${lineText(survey, line)}</li>`)}</ul>`;
}

/** @param {{site: Site, survey: Survey, signed: import('./reading.js').Signed}} props */
export function SignedBefore({ site, survey, signed: { record, was, now } }) {
  const said = facet(record, 'identity');
  const whole = useLive(
    async () => (await sha256OfBytes(textOf(linesSigned(record)))) === said.content,
    [record.id, said.content],
  );
  const changed = was.length + now.length > 0;
  const title = say(changed ? 'acceptance.changed-since' : 'acceptance.signed');
  return html`<section class=${changed || whole === false ? 'notice bad stack' : 'card'} aria-label=${title}>
    <h2>${title}</h2>
    <p>${say('sign.who-and-when', { name: said.name, time: timeText(said.noted_at ?? ''), how: said.signed_by })}</p>
    <div class="signature-shown"><${Photos} site=${site} subject=${record.id} /></div>
    ${whole === false && html`<p class="strong">${say('acceptance.broken')}</p>`}
    <${Counts} fixtures=${said.fixtures} done=${said.done} open=${said.open} />
    ${!changed && html`<p>${say('acceptance.holds')}</p>`}
    ${changed && html`<${Changes} survey=${survey} was=${was} now=${now} />`}
    <details>
      <summary class="turn">${say('acceptance.as-signed')}</summary>
      <${Lines} survey=${survey} lines=${linesSigned(record)} />
    </details>
    <p class="muted small fingerprint">${say('acceptance.sha256', { content: said.content })}</p>
  </section>`;
}

/** @param {{survey: Survey, was: string[], now: string[]}} props */
function Changes({ survey, was, now }) {
  const lists = /** @type {const} */ ([
    ['was', was],
    ['now', now],
  ]);
  return html`${lists.map(
    ([which, lines]) =>
      lines.length > 0 &&
      html`<p class="label">${say(`acceptance.${which}`)}</p>
        <ul class="signed-lines">${lines.map((line) => html`<li key=${line}>${lineText(survey, line)}</li>`)}</ul>`,
  )}`;
}
