// A form of one facet that keeps what is typed in it, through back, a closed app and a sign-out, until it is saved or let go.

import { useState } from 'preact/hooks';
import { draftOf } from '../drafts.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { FacetForm } from './facet_form.js';

/** The operation, or operations by facet, whose values a form shows; null: nothing is there yet. @typedef {string | null | Record<string, string | null>} Shown */
/** @typedef {{value: Value, seen: Shown}} Kept `seen`: what the form showed when typing began */

/**
 * What is typed is let go once `onSave` has ended well; who takes the form away within it lets go before that.
 *
 * @param {object} props
 * @param {Site} props.site
 * @param {string} props.name of the form, the same whenever it opens: `<record>.<facet>` of one that is there
 * @param {Shown} [props.seen] what it shows
 * @param {(value: Value, seen: never) => Promise<unknown>} props.onSave `seen`: what of `Shown` it showed when typing began; throws when it was not saved
 * @param {Child} [props.beside] stands between the word on what was typed before and the fields
 * @param {Omit<Parameters<typeof FacetForm>[0], 'onSave' | 'draft'>} props.form what else the form is given
 * @param {Child} [props.children] stands above the button
 */
export function KeptForm({ site, name, seen = null, onSave, beside, form, children }) {
  /** @type {import('../drafts.js').KeptDraft<Kept>} */
  const kept = draftOf(site.id, name);
  const [opened, setOpened] = useState(
    /** @returns {{turn: number, at: Kept | undefined}} */ () => ({ turn: 0, at: kept.at }),
  );
  const since = opened.at ? opened.at.seen : seen;
  /** @param {Value} value */
  const save = async (value) => {
    await onSave(value, /** @type {never} */ (since));
    setOpened(({ turn }) => ({ turn, at: undefined }));
  };
  const letGo = () => {
    kept.forget();
    setOpened(({ turn }) => ({ turn: turn + 1, at: undefined }));
  };
  const draft = {
    ...kept,
    at: opened.at?.value,
    keep: (/** @type {Value} */ value) => kept.keep({ value, seen: since }),
  };
  return html`${
    opened.at &&
    html`<div class="saved" role="status">
      <span>${say('survey.draft-is-here')}</span>
      <button type="button" class="button plain" onClick=${letGo}>${say('survey.draft-let-go')}</button>
    </div>`
  }
  ${beside}
  <${FacetForm} key=${opened.turn} ...${form} draft=${draft} onSave=${save}>${children}<//>`;
}
