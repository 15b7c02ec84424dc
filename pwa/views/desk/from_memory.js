// Which figures that a plan rests on nobody read in a source? Shown beside what is decided and released by them.

import { html } from '../html.js';
import { choiceText, say } from '../words.js';

/** What is from memory, by where it is said to be from and by its row: each once. @param {Told[]} said */
function bySource(said) {
  /** @type {Map<string, Map<string, string[]>>} */
  const found = new Map();
  for (const { facts } of said) {
    const [source, row] = [String(facts.source), choiceText(String(facts.row))];
    const rows = found.get(source) ?? new Map();
    found.set(source, rows.set(row, [...(rows.get(row) ?? []), String(facts.what)]));
  }
  return [...found].map(
    ([source, rows]) =>
      /** @type {const} */ ([source, [...rows].map(([row, whats]) => `${row}: ${whats.join(', ')}`)]),
  );
}

/** Each figure in a line, by which a release says that it was seen: twin of `site_figures.figure_named`. @param {Told[] | undefined} said */
export const figuresNamed = (said) =>
  (said ?? []).map(({ facts }) => [facts.what, facts.row, facts.source].join(' | '));

/** @param {{said: Told[] | undefined}} props */
export function FromMemory({ said }) {
  if (!said?.length) return null;
  return html`<div class="notice stack" role="note" aria-label=${say('world.from-memory-title')}>
    <p class="strong">${say('world.from-memory', { number: said.length })}</p>
    <ul class="rows">${bySource(said).map(([source, figures]) => html`<li class="row-text" key=${source}><span>${figures.join('; ')}</span><span class="detail">${source}</span></li>`)}</ul>
  </div>`;
}

/** Rooms in which bars of more than one colour are proposed: an open point of the plan. @param {{said: Told[] | undefined}} props */
export function MixedLooks({ said }) {
  if (!said?.length) return null;
  return html`<div class="notice bad stack" role="note" aria-label=${say('world.mixed-looks-title')}>
    ${said.map(({ code, facts }) => html`<p key=${facts.room}>${say(code, facts)}</p>`)}
  </div>`;
}
