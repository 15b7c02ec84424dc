// 'Say it': a length spoken, understood on this device or not at all; read back, and taken by a yes only.

import { useEffect, useRef, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { say as words } from '../words.js';
import { readBack, spokenIn } from './spoken.js';

/**
 * What a browser has for recognising speech, as far as it is used here.
 *
 * @typedef {object} Recognition
 * @property {string} lang
 * @property {boolean} processLocally nothing said leaves this device
 * @property {number} maxAlternatives
 * @property {((event: {results: Array<Array<{transcript: string}>>}) => void) | null} onresult
 * @property {((event: {error?: string}) => void) | null} onerror
 * @property {(() => void) | null} onend
 * @property {() => void} start
 * @property {() => void} abort
 *
 * @typedef {(new () => Recognition) & {available?: (options: {langs: string[], processLocally: boolean}) => Promise<string>}} Recognizer
 * @typedef {'asking' | 'ready' | 'none' | 'sends-it-away' | 'not-on-this-device' | 'other-language'} Hearing whether this browser may be
 *   listened with, or why not
 */

/** @returns {Recognizer | undefined} */
const recognizer = () =>
  /** @type {{SpeechRecognition?: Recognizer}} */ (/** @type {unknown} */ (globalThis)).SpeechRecognition;

/** Whether this browser understands speech without sending it away. @returns {Promise<Hearing>} */
export async function hearing() {
  if (!spokenIn(store.language)) return 'other-language';
  const known = recognizer();
  if (!known) return 'webkitSpeechRecognition' in globalThis ? 'sends-it-away' : 'none';
  if (!known.available || !('processLocally' in known.prototype)) return 'sends-it-away';
  return (await tagHere()) ? 'ready' : 'not-on-this-device';
}

/** The first tag of the page's language that is understood on this device; null where none is. @returns {Promise<string | null>} */
async function tagHere() {
  for (const tag of spokenIn(store.language)?.tags ?? []) {
    const told = await recognizer()
      ?.available?.({ langs: [tag], processLocally: true })
      .catch(() => 'unavailable');
    if (told === 'available') return tag;
  }
  return null;
}

/** What was heard; null where nothing was. @param {{current: Recognition | null}} at work @param {string} tag of the language @returns {Promise<string | null>} */
function listen(at, tag) {
  return new Promise((resolve) => {
    const Known = /** @type {Recognizer} */ (recognizer());
    const listening = new Known();
    at.current = listening;
    listening.lang = tag;
    listening.processLocally = true;
    listening.maxAlternatives = 1;
    listening.onresult = ({ results }) => resolve(results[0][0].transcript);
    listening.onerror = () => resolve(null);
    listening.onend = () => resolve(null);
    try {
      listening.start();
    } catch {
      resolve(null);
    }
  });
}

/** Says a text with a voice of this device; false where there is none. @param {string} text @returns {Promise<boolean>} */
function speak(text) {
  const voice = globalThis.speechSynthesis
    ?.getVoices()
    .find((each) => each.localService && each.lang.startsWith(store.language.split('-')[0]));
  if (!voice) return Promise.resolve(false);
  return new Promise((resolve) => {
    const spoken = new SpeechSynthesisUtterance(text);
    spoken.voice = voice;
    spoken.onend = () => resolve(true);
    spoken.onerror = () => resolve(false);
    speechSynthesis.speak(spoken);
  });
}

/**
 * @typedef {object} Said
 * @property {Hearing} hearing
 * @property {boolean} listening
 * @property {() => Promise<void>} say listens, reads back, and waits for the yes
 * @property {() => void} stop
 */

/**
 * @param {object} on
 * @param {(text: string) => void} on.heard a length was understood: it is shown and waits for a yes
 * @param {(said: string | null) => void} on.unclear something else, or nothing
 * @param {(yes: boolean) => void} on.answered after `heard`, by voice
 * @returns {Said}
 */
export function useSayIt(on) {
  const [can, setCan] = useState(/** @type {Hearing} */ ('asking'));
  const [listening, setListening] = useState(false);
  const work = useRef(/** @type {Recognition | null} */ (null));
  const turn = useRef(0);
  const told = useRef(on);
  told.current = on;
  const stop = () => {
    turn.current += 1;
    work.current?.abort();
    work.current = null;
    globalThis.speechSynthesis?.cancel();
    setListening(false);
  };
  useEffect(() => {
    let wanted = true;
    hearing().then((found) => wanted && setCan(found));
    return () => {
      wanted = false;
      stop();
    };
  }, []);
  const say = async () => {
    stop();
    turn.current += 1;
    const mine = turn.current;
    const current = () => mine === turn.current;
    const [spoken, tag] = [spokenIn(store.language), await tagHere()];
    if (!current() || !spoken || tag === null) return;
    setListening(true);
    const said = await listen(work, tag);
    if (!current()) return;
    setListening(false);
    const text = said === null ? null : spoken.spokenLength(said);
    if (text === null) return told.current.unclear(said);
    told.current.heard(text);
    // Without a voice of its own the device cannot read back: then only a tap is a yes.
    const { code, facts } = readBack(text);
    if (!(await speak(words(code, facts))) || !current()) return;
    const answer = spoken.yesOrNo((await listen(work, tag)) ?? '');
    if (current() && answer !== null) told.current.answered(answer);
  };
  return { hearing: can, listening, say, stop };
}
