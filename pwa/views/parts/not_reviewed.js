// Beside the words of a language: that nobody of the trade who speaks it has read them.

import { store } from '../../store/store.js';
import { isReviewed } from '../../store/tables.js';
import { html } from '../html.js';
import { say } from '../words.js';

/** Nothing where the words that are read now have been read by somebody of the trade. */
export function NotReviewed() {
  if (isReviewed(store.tables)) return null;
  return html`<p class="notice small" role="note">${say('language.not-reviewed')}</p>`;
}
