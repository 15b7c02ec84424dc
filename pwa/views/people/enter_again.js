// Entering password or second factor once more, before what cannot be taken back; over whatever screen asks for it.

import { useEffect, useRef, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { draw, html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { Turn } from '../parts/turn.js';
import { say } from '../words.js';
import { ProofFields, useWait, wantedBy } from './proof.js';

/** @typedef {import('./proof.js').Shown & {password?: string}} Told */

const PASSWORD = 'password';
/** @type {Promise<boolean> | null} */
let asking = null;

/** Whether who is signed in has proven again who they are. Several that ask at once ask once. @returns {Promise<boolean>} */
export function enterAgain() {
  asking ??= ask().finally(() => {
    asking = null;
  });
  return asking;
}

/** @param {Told} told */
const enter = (told) => askServer('/api/session/entered', { method: 'POST', body: told, askAgain: false });

async function ask() {
  /** @type {import('./proof.js').Wanted | null} */
  let wanted = null;
  try {
    await enter({});
    return true;
  } catch (refused) {
    wanted = wantedBy(refused, 'enter-again');
    if (!wanted) throw refused;
  }
  const before = document.activeElement;
  const root = document.createElement('div');
  document.body.append(root);
  const done = await new Promise((resolve) =>
    draw(html`<${Dialog} wanted=${wanted} onEnd=${resolve} />`, root),
  );
  draw(null, root);
  root.remove();
  if (before instanceof HTMLElement) before.focus();
  return /** @type {boolean} */ (done);
}

/** @param {{wanted: import('./proof.js').Wanted, onEnd: (entered: boolean) => void}} props */
function Dialog({ wanted, onEnd }) {
  const dialog = useRef(/** @type {HTMLDialogElement | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const wait = useWait(error);
  useEffect(() => {
    dialog.current?.showModal();
  }, []);
  /** @param {Told} told */
  const tell = async (told) => {
    setBusy(true);
    setError(null);
    try {
      await enter(told);
      onEnd(true);
    } catch (refused) {
      setError(refused);
      setBusy(false);
    }
  };
  const submit = (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    tell(Object.fromEntries(new FormData(/** @type {HTMLFormElement} */ (event.currentTarget))));
  };
  return html`<dialog class="card enter-again" ref=${dialog} aria-labelledby="again-title" onCancel=${() => onEnd(false)}>
    <form class="stack" onSubmit=${submit}>
      <h2 id="again-title">${say('again.title')}</h2>
      <p>${say('again.about')}</p>
      ${
        wanted.methods.includes(PASSWORD)
          ? html`<div class="field"><label for="again-password">${say('again.password')}</label>
        <input id="again-password" name="password" type="password" autocomplete="current-password" required maxlength="200" autofocus /></div>`
          : html`<${ProofFields} wanted=${wanted} onPasskey=${tell} />`
      }
      <${Problem} error=${error} />
      <${Turn} />
      <div class="side-by-side">
        <button class="button main" disabled=${busy || wait > 0}>${wait > 0 ? say('proof.wait', { seconds: wait }) : say('again.do')}</button>
        <button type="button" class="button" onClick=${() => onEnd(false)}>${say('again.leave')}</button>
      </div>
    </form>
  </dialog>`;
}
