// That the page waits for its turn, while the server has its hands full; it tries again by itself.

import { useEffect, useState } from 'preact/hooks';
import { watchTurn } from '../../store/turn.js';
import { html } from '../html.js';
import { say } from '../words.js';

export function Turn() {
  const [waiting, setWaiting] = useState(false);
  useEffect(() => watchTurn(setWaiting), []);
  return html`<div role="status">${waiting && html`<p class="notice">${say('turn.waiting')}</p>`}</div>`;
}
