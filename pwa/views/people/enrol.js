// Coming in by a code that another phone of one's own shows: read here by the camera, or opened as a link, whose secret stands after '#'.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { addSiteTables } from '../../store/tables.js';
import { Camera } from '../scanning/camera.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { codeIn } from './enrolment_code.js';

const SIGN_IN = '/sign-in';

export function Enrol() {
  const [secret, setSecret] = useState(() => location.hash.slice(1));
  // Neither the browser's history nor who looks over a shoulder keeps it.
  useEffect(() => history.replaceState(history.state, '', location.pathname), []);
  return html`<${Page} title=${say('enrol.title')} back=${SIGN_IN}>
    ${
      secret
        ? html`<${Opened} key=${secret} secret=${secret} onAgain=${() => setSecret('')} />`
        : html`<${ReadIt} onSecret=${setSecret} />`
    }
    <a class="button wide" href=${SIGN_IN}>${say('enrol.with-password')}</a>
  <//>`;
}

/** @param {{onSecret: (secret: string) => void}} props */
function ReadIt({ onSecret }) {
  const [told, setTold] = useState('');
  const [ready, setReady] = useState(false);
  useEffect(() => {
    // What the camera says is among the sentences of sites.
    addSiteTables(store.tables, store.fetch, store.base).then(() => setReady(true));
  }, []);
  /** @param {string[]} texts */
  const read = (texts) => {
    const { secret, elsewhere } = codeIn(texts, location.origin);
    if (secret) onSecret(secret);
    else setTold(say(elsewhere ? 'enrol.other-server' : 'enrol.not-ours'));
  };
  return html`<p>${say('enrol.how')}</p>
    ${ready && html`<${Camera} onTexts=${read} hint=${say('enrol.hint')} />`}
    <p role="status" class="muted">${told}</p>`;
}

/** @param {{secret: string, onAgain: () => void}} props */
function Opened({ secret, onAgain }) {
  const [name, setName] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  useEffect(() => {
    askServer('/api/enrolments/open', { method: 'POST', body: { secret } }).then(
      (told) => setName(/** @type {{name: string}} */ (told).name),
      setError,
    );
  }, []);
  const enter = async () => {
    setBusy(true);
    setError(null);
    try {
      await store.enrol(secret);
      navigate('/', { replace: true });
    } catch (refused) {
      setError(refused);
      setBusy(false);
    }
  };
  const here = store.person;
  return html`<section class="stack">
    ${!name && !error && html`<p role="status">${say('enrol.opening')}</p>`}
    ${
      name &&
      html`<p class="strong">${say('enrol.as', { name })}</p>
      ${here && here.name !== name && html`<p class="notice">${say('enrol.here-already', { name: here.name })}</p>`}
      <p class="muted">${say('enrol.shared')}</p>
      <button type="button" class="button main wide" disabled=${busy} onClick=${enter}>${say('enrol.enter', { name })}</button>`
    }
    <${Problem} error=${error} />
    ${error && html`<button type="button" class="button wide" onClick=${onAgain}>${say('enrol.scan-again')}</button>`}
  </section>`;
}
