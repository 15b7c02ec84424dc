// That a label was read, told by a sound and a buzz; each can be turned off, and stays so on this phone.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { keep, kept } from '../../store/kept.js';
import { say } from '../words.js';

const SIGNALS = /** @type {const} */ (['sound', 'buzz']);
/** @typedef {typeof SIGNALS[number]} Signal */
const TONE_HZ = 880;
const TONE_S = 0.12;
const BUZZ_MS = 60;

/** @param {Signal} signal */
const keyOf = (signal) => `scan-without-${signal}`;
/** Whether a signal is wanted: it is, until somebody turns it off. @param {Signal} signal */
export const isOn = (signal) => !kept(keyOf(signal));

/** Tell that a label was read. A phone that can do neither tells it by what it shows. */
export function tellRead() {
  if (isOn('buzz')) navigator.vibrate?.(BUZZ_MS);
  if (isOn('sound')) tone().catch(() => {});
}

async function tone() {
  const sounds = new AudioContext();
  const source = sounds.createOscillator();
  source.frequency.value = TONE_HZ;
  source.connect(sounds.destination);
  source.onended = () => sounds.close();
  source.start();
  source.stop(sounds.currentTime + TONE_S);
}

/** Which signals are wanted. */
export function Signals() {
  const [on, setOn] = useState(() => ({ sound: isOn('sound'), buzz: isOn('buzz') }));
  /** @param {Signal} signal */
  const turn = (signal) => {
    keep(keyOf(signal), on[signal] ? true : undefined);
    setOn({ ...on, [signal]: !on[signal] });
  };
  return html`<fieldset class="field"><legend>${say('scanner.told-by')}</legend><div class="chips">
    ${SIGNALS.map(
      (signal) =>
        html`<label class="chip" key=${signal}><input type="checkbox" checked=${on[signal]} onChange=${() => turn(signal)} /><span>${say(`scanner.${signal}`)}</span></label>`,
    )}
  </div></fieldset>`;
}
