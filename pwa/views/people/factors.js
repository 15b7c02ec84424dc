// One's second factors: an authenticator, passkeys, recovery codes; set up, looked at, taken off.

import { useState } from 'preact/hooks';
import { askServer } from '../../store/desk.js';
import { store } from '../../store/store.js';
import { Answer, useServer } from '../desk/parts.js';
import { html } from '../html.js';
import { Problem } from '../parts/parts.js';
import { say, timeText } from '../words.js';
import { Asked } from './asked.js';
import { QrCode } from './link_card.js';
import { makePasskey, mayPasskey } from './passkey.js';

/** @typedef {{id: string, kind: 'code' | 'passkey', name: string, made_at: string, used_at: string | null}} Factor */
/** @typedef {{factors: Factor[], codes_left: number, advised: boolean, required: boolean}} Factors */
/** @typedef {{id: string, secret: string, address: string, qr: string[]}} Authenticator */

const AT = '/api/me/factors';

export function SecondFactor() {
  const [turn, setTurn] = useState(0);
  const [codes, setCodes] = useState(/** @type {string[]} */ ([]));
  const answer = /** @type {import('../desk/parts.js').Answered<Factors>} */ (useServer(AT, [turn]));
  /** @param {string[]} [told] recovery codes that were made just now */
  const again = (told = []) => {
    if (told.length > 0) setCodes(told);
    setTurn((before) => before + 1);
    // Who had to set one up first may go on now; the recovery codes stand until they are kept.
    if (store.factorFirst && told.length === 0) store.refresh();
  };
  const kept = () => {
    setCodes([]);
    if (store.factorFirst) store.refresh();
  };
  return html`<section class="card" aria-label=${say('factors.title')}>
    <h2>${say('factors.title')}</h2>
    <p>${say('factors.about')}</p>
    ${codes.length > 0 && html`<${Codes} codes=${codes} onKept=${kept} />`}
    <${Answer} answer=${answer}>${(/** @type {Factors} */ told) => html`
      <${Advice} told=${told} />
      <ul class="rows">${told.factors.map((factor) => html`<${OneFactor} key=${factor.id} factor=${factor} onChanged=${again} />`)}</ul>
      ${told.factors.length > 0 && html`<${Left} left=${told.codes_left} onMade=${again} />`}
      <${Add} onMade=${again} />`}<//>
  </section>`;
}

/** @param {{told: Factors}} props */
function Advice({ told }) {
  if (told.factors.length > 0 || !told.advised || store.factorFirst) return null;
  return html`<p class="notice">${say(told.required ? 'factors.required' : 'factors.advised')}</p>`;
}

/** @param {{factor: Factor, onChanged: () => void}} props */
function OneFactor({ factor, onChanged }) {
  const [sure, setSure] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const remove = async () => {
    setSure(false);
    setError(null);
    try {
      await askServer(`${AT}/${factor.id}`, { method: 'DELETE' });
      onChanged();
    } catch (refused) {
      setError(refused);
    }
  };
  const { kind, name, made_at: made, used_at: used } = factor;
  const what = `${say(`factors.kind.${kind}`)}: ${name}`;
  return html`<li class="row-text">
    <span class="strong">${what}</span>
    <span class="detail">${say('factors.made', { made: timeText(made) })}, ${used ? say('factors.used', { used: timeText(used) }) : say('factors.never-used')}</span>
    ${
      sure
        ? html`<${Asked} doing=${say('factors.remove')} onDo=${remove} onLeave=${() => setSure(false)}>${say('factors.remove-sure')}<//>`
        : html`<span><button type="button" class="button" aria-label=${`${say('factors.remove')}: ${what}`} onClick=${() => setSure(true)}>${say('factors.remove')}</button></span>`
    }
    <${Problem} error=${error} />
  </li>`;
}

/** @param {{left: number, onMade: (codes: string[]) => void}} props */
function Left({ left, onMade }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async () => {
    setError(null);
    try {
      /** @type {{codes: string[]}} */
      const { codes } = await askServer(`${AT}/codes`, { method: 'POST', body: {} });
      onMade(codes);
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<p>${say(left === 1 ? 'factors.codes-left.one' : 'factors.codes-left.other', { n: left })}</p>
    <span><button type="button" class="button" onClick=${make}>${say('factors.codes-new')}</button></span>
    <${Problem} error=${error} />`;
}

/** Recovery codes, shown this once. @param {{codes: string[], onKept: () => void}} props */
function Codes({ codes, onKept }) {
  const [copied, setCopied] = useState(false);
  const copy = () => navigator.clipboard.writeText(codes.join('\n')).then(() => setCopied(true));
  return html`<section class="notice stack" aria-label=${say('factors.codes')}>
    <h3>${say('factors.codes')}</h3>
    <p>${say('factors.codes-about')}</p>
    <ul class="codes measure">${codes.map((code) => html`<li key=${code}>${code}</li>`)}</ul>
    <div class="side-by-side">
      ${'clipboard' in navigator && html`<button type="button" class="button" onClick=${copy}>${say('factors.codes-copy')}</button>`}
      <button type="button" class="button main" onClick=${onKept}>${say('factors.codes-kept')}</button>
      <span role="status">${copied && say('factors.codes-copied')}</span>
    </div>
  </section>`;
}

/** @param {{onMade: (codes: string[]) => void}} props */
function Add({ onMade }) {
  const [begun, setBegun] = useState(/** @type {Authenticator | null} */ (null));
  const [naming, setNaming] = useState(false);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const begin = async () => {
    setError(null);
    setNaming(false);
    try {
      setBegun(await askServer(`${AT}/authenticator`, { method: 'POST', body: {} }));
    } catch (refused) {
      setError(refused);
    }
  };
  const end = (/** @type {string[]} */ codes) => {
    setBegun(null);
    setNaming(false);
    onMade(codes);
  };
  const name = () => {
    setBegun(null);
    setNaming(true);
  };
  return html`<div class="side-by-side">
      ${!begun && html`<button type="button" class="button" onClick=${begin}>${say('factors.add-code')}</button>`}
      ${!naming && mayPasskey() && html`<button type="button" class="button" onClick=${name}>${say('factors.add-passkey')}</button>`}
    </div>
    ${!mayPasskey() && html`<p class="small muted">${say('factors.no-passkeys')}</p>`}
    <${Problem} error=${error} />
    ${begun && html`<${FirstCode} begun=${begun} onMade=${end} />`}
    ${naming && html`<${NewPasskey} onMade=${end} />`}`;
}

/** @param {{begun: Authenticator, onMade: (codes: string[]) => void}} props */
function FirstCode({ begun, onMade }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const confirm = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const body = Object.fromEntries(new FormData(/** @type {HTMLFormElement} */ (event.currentTarget)));
    setError(null);
    try {
      /** @type {{codes: string[]}} */
      const { codes } = await askServer(`${AT}/authenticator`, { method: 'PUT', body });
      onMade(codes);
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<form class="stack" onSubmit=${confirm} aria-label=${say('factors.add-code')}>
    <p>${say('factors.scan')}</p>
    <${QrCode} rows=${begun.qr} label=${say('factors.qr')} />
    <div class="field"><label for="factor-key">${say('factors.key')}</label>
      <input id="factor-key" class="measure" readonly value=${begun.secret} onFocus=${(/** @type {EventOf<HTMLInputElement>} */ event) => event.currentTarget.select()} /></div>
    <p><a class="button" href=${begun.address}>${say('factors.open-app')}</a></p>
    <div class="field"><label for="first-code">${say('factors.first-code')}</label>
      <input id="first-code" class="measure" name="code" required inputmode="numeric" maxlength="10" autocomplete="one-time-code" /></div>
    <${Problem} error=${error} />
    <button class="button main">${say('factors.confirm')}</button>
  </form>`;
}

/** @param {{onMade: (codes: string[]) => void}} props */
function NewPasskey({ onMade }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async (/** @type {SubmitEvent} */ event) => {
    event.preventDefault();
    const { name } = Object.fromEntries(new FormData(/** @type {HTMLFormElement} */ (event.currentTarget)));
    setError(null);
    try {
      /** @type {{options: import('./passkey.js').Json}} */
      const { options } = await askServer(`${AT}/passkey`, { method: 'POST', body: {} });
      const passkey = await makePasskey(options);
      /** @type {{codes: string[]}} */
      const { codes } = await askServer(`${AT}/passkey`, { method: 'PUT', body: { name, passkey } });
      onMade(codes);
    } catch (refused) {
      const ours = refused instanceof Error && 'code' in refused && typeof refused.code === 'string';
      setError(ours ? refused : { code: 'proof.passkey-failed', facts: {} });
    }
  };
  const device = say(navigator.maxTouchPoints > 0 ? 'me.device.phone' : 'me.device.computer');
  return html`<form class="stack" onSubmit=${make} aria-label=${say('factors.add-passkey')}>
    <div class="field"><label for="passkey-name">${say('factors.passkey-name')}</label>
      <input id="passkey-name" name="name" required maxlength="80" value=${device} autocomplete="off" /></div>
    <${Problem} error=${error} />
    <button class="button main">${say('factors.add-passkey')}</button>
  </form>`;
}
