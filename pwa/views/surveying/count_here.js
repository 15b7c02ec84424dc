// A group's count, corrected where one stands.

import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { Tally } from '../parts/tally.js';
import { counted, say } from '../words.js';

/** @typedef {{group: RecordView<'group'>, title: string}} Named */

/**
 * @param {object} props
 * @param {Site} props.site
 * @param {Named} props.of
 * @param {(said: string, fewer: boolean) => void} props.onSaved `fewer`: it is asked which ones are gone
 * @param {() => void} props.onClose
 */
export function CountHere({ site, of: { group, title }, onSaved, onClose }) {
  const draft = draftOf(site.id, `${group.id}.count-here`);
  const before = group.facets.count;
  const [seen] = useState(group.seen.count ?? null);
  const [count, setCount] = useState(/** @type {number | null} */ (draft.at ?? before?.count ?? null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const form = useRef(/** @type {HTMLFormElement | null} */ (null));
  // It opens below the row that was tapped, where the foot may lie over it.
  useLayoutEffect(() => form.current?.scrollIntoView({ block: 'nearest' }), []);
  const { min, max } = /** @type {{min: number, max: number}} */ (
    site.spec.records.group.facets.count.fields.count
  );
  /** @param {number | null} next */
  const type = (next) => {
    setCount(next);
    draft.keep(next);
  };
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const wrong = wrongCount(count, min, max);
    setError(wrong);
    if (wrong || count === null) return;
    try {
      await site.save([
        { record: group.id, type: 'group', facet: 'count', value: { ...before, count }, seen },
      ]);
      draft.forget();
      onSaved(
        say('survey.count-saved', { title, fixtures: counted(count, 'fixture') }),
        count < (before?.count ?? 0),
      );
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<form class="card count-here" ref=${form} onSubmit=${save} novalidate aria-label=${say('survey.count-of', { title })}>
    <${Tally} label=${say('survey.count-of', { title })} value=${count} onChange=${type} least=${min} most=${max} first=${true} short=${true} />
    <${Problem} error=${error} />
    <div class="side-by-side">
      <button class="button main">${say('page.save')}</button>
      <button type="button" class="button plain" onClick=${() => {
        draft.forget();
        onClose();
      }}>${say('survey.leave-it')}</button>
    </div>
  </form>`;
}

/** What is wrong with a count, in a word. @param {number | null} count @param {number} min @param {number} max */
export function wrongCount(count, min, max) {
  const title = say('survey.fixtures');
  if (count === null) return { code: 'field.missing', facts: { title } };
  if (count < min) return { code: 'field.too-small', facts: { title, value: count, min } };
  return count > max ? { code: 'field.too-large', facts: { title, value: count, max } } : null;
}
