// A long form in sections that are folded, each telling in its fold what is entered in it.

import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { canBeTyped } from '../inputs/fields.js';
import { Mark } from '../parts/parts.js';
import { facetText } from '../surveying/facet_rows.js';
import { say } from '../words.js';

/** @typedef {import('./field_checks.js').Field} Field */
/** Fields that stand together. @typedef {{title: string, about: string, fields: string[]}} Section */

/**
 * What is entered in a section, in a line.
 *
 * @param {Record<string, Field>} fields those of the section that can be typed @param {Value} value
 */
export function enteredText(fields, value) {
  const of = Object.keys(fields).length;
  const entered = Object.keys(fields).filter((name) => value[name] !== undefined).length;
  if (entered === 0) return say('form.nothing-entered', { of });
  return say('form.entered', {
    entered,
    of,
    what: facetText(/** @type {Record<string, SpecField>} */ (fields), value) ?? '',
  });
}

/**
 * Fields in which something else stands than what is saved: typed and left, or half typed.
 *
 * @param {Value} saved @param {Value} now @param {Iterable<string>} half names of those that are no value yet
 */
export function notSaved(saved, now, half) {
  const names = new Set([...Object.keys(saved), ...Object.keys(now)]);
  const differ = [...names].filter((name) => JSON.stringify(saved[name]) !== JSON.stringify(now[name]));
  return new Set([...differ, ...half]);
}

/**
 * Which sections are open at first: those in which something is to be minded or is not saved; where nothing is entered at all, the first.
 *
 * @param {Section[]} sections @param {Value} value @param {Set<string>} said fields of which something is said, or that are not saved
 * @returns {boolean[]}
 */
export function openAtFirst(sections, value, said) {
  const isBlank = sections.every(({ fields }) => fields.every((name) => value[name] === undefined));
  return sections.map(
    ({ fields }, place) => (isBlank && place === 0) || fields.some((name) => said.has(name)),
  );
}

/**
 * @param {object} props
 * @param {Section[]} props.sections
 * @param {Record<string, Field>} props.fields
 * @param {Value} props.value
 * @param {Set<string>} props.said fields of which something is said: wrong, to be minded, or half typed
 * @param {Set<string>} props.unsaved fields in which something else stands than what is saved
 * @param {number} props.tries how often it was tried to save what is wrong: sections where something is said are opened then
 * @param {(name: string) => Child} props.input draws a field
 */
export function Sections({ sections, fields, value, said, unsaved, tries, input }) {
  const all = useRef(/** @type {HTMLElement | null} */ (null));
  const [atFirst] = useState(() => openAtFirst(sections, value, new Set([...said, ...unsaved])));
  // Before the form scrolls to what is wrong: in a closed section it has no place.
  useLayoutEffect(() => {
    if (tries === 0) return;
    for (const [place, each] of foldsIn(all.current).entries())
      if (sections[place].fields.some((name) => said.has(name))) each.open = true;
  }, [tries]);
  const turn = (/** @type {boolean} */ open) => {
    for (const each of foldsIn(all.current)) each.open = open;
  };
  return html`<div class="stack" ref=${all}>
    <div class="side-by-side">
      <button type="button" class="button" onClick=${() => turn(true)}>${say('form.open-all')}</button>
      <button type="button" class="button" onClick=${() => turn(false)}>${say('form.fold-all')}</button>
    </div>
    ${sections.map((section, place) => {
      const own = section.fields.filter((name) => canBeTyped(fields[name]));
      const isUnsaved = own.some((name) => unsaved.has(name));
      const told = enteredText(Object.fromEntries(own.map((name) => [name, fields[name]])), value);
      return html`<section class="card" key=${section.title} aria-label=${section.title}>
        <details class="form-section" open=${atFirst[place]}>
          <summary><h2>${section.title}</h2>${isUnsaved && html`<${Mark} look="attention">${say('form.not-saved')}<//>`}<span class="detail">${told}</span></summary>
          <div class="fields">
            <p class="small muted">${section.about}</p>
            ${own.map(input)}
          </div>
        </details>
      </section>`;
    })}
  </div>`;
}

/** @param {HTMLElement | null} all @returns {HTMLDetailsElement[]} */
const foldsIn = (all) => [...(all?.querySelectorAll('details') ?? [])];
