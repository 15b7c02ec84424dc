// A length as somebody says it, in the languages that this page understands; and a typed one as it is read back.

import * as en from './spoken_en.js';
import * as es from './spoken_es.js';

/**
 * How a language says lengths.
 *
 * @typedef {object} Spoken
 * @property {string[]} tags of the language, BCP 47: what a browser may have on the device for it, the best first
 * @property {(said: string) => string | null} spokenLength
 * @property {(said: string) => boolean | null} yesOrNo
 */

/** By the primary tag. @type {Record<string, Spoken>} */
const SPOKEN = {
  en: { tags: ['en-US', 'en-GB'], spokenLength: en.spokenLength, yesOrNo: answersBy(en) },
  es: { tags: ['es-US', 'es-MX', 'es-ES'], spokenLength: es.spokenLength, yesOrNo: answersBy(es) },
};

/** How lengths are said in a language; null where this page does not understand it. @param {string} language BCP 47 @returns {Spoken | null} */
export const spokenIn = (language) => SPOKEN[language.split('-')[0]] ?? null;

/**
 * A typed length as it is read back: the sentence's code and its facts.
 *
 * @param {string} text @returns {Reason}
 */
export function readBack(text) {
  const found = /^(?:(\d+) )?(\d+)\/(\d+)$/.exec(text);
  const metric = /^(.+) mm$/.exec(text);
  if (metric) return { code: 'ladder.read-back-mm', facts: { mm: metric[1] } };
  if (!found) return { code: 'ladder.read-back', facts: { text } };
  const [, inches, over, under] = found;
  const part = { code: `ladder.part-${under}.${over === '1' ? 'one' : 'other'}`, facts: { over } };
  return inches
    ? { code: 'ladder.read-back-inches', facts: { inches, part } }
    : { code: 'ladder.read-back-part', facts: { part } };
}

/** Whether what was said is a yes or a no; null where it is neither, or both. @param {{YES: Set<string>, NO: Set<string>}} words without accents @returns {(said: string) => boolean | null} */
function answersBy({ YES, NO }) {
  return (said) => {
    const words =
      said
        .toLowerCase()
        .normalize('NFD')
        .replace(/\p{M}/gu, '')
        .match(/[a-z]+/g) ?? [];
    const [yes, no] = [words.some((each) => YES.has(each)), words.some((each) => NO.has(each))];
    return yes === no ? null : yes;
  };
}
