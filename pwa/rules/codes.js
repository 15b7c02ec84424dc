// The code on a label: 8 symbols and a check symbol that catches each mistyped one. Twin: server/spanwalk/rules/codes.py.

import * as constants from './constants.js';

const SYMBOLS = constants.CODE_SYMBOLS;
const CHECK_SYMBOLS = `${SYMBOLS}*~$=U`;
const USABLE_CHECKS = `${SYMBOLS}U`;
const LENGTH = constants.CODE_LENGTH;
const PATH = constants.CODE_PATH;
/** @type {Record<string, string>} */
const READ_AS = { O: '0', I: '1', L: '1' };
const PASSED_OVER = ' -\u00a0‐‑–';

/** The check symbol of a number in base 32: its remainder modulo 37. @param {string} symbols */
export function checkSymbol(symbols) {
  let rest = 0;
  for (const symbol of symbols) rest = (rest * 32 + SYMBOLS.indexOf(symbol)) % 37;
  return CHECK_SYMBOLS[rest];
}

/**
 * The code that somebody typed or scanned, as it is stored; a whole label address is taken too.
 * @param {string} text
 * @returns {{code: string, error?: undefined} | {code?: undefined, error: {code: string, facts: Record<string, string | number>}}}
 */
export function parseCode(text) {
  const shown = text.slice(0, 40);
  const typed = text.trim().toUpperCase();
  const own = typed
    .slice(typed.lastIndexOf(PATH) < 0 ? 0 : typed.lastIndexOf(PATH) + PATH.length)
    .replace(/\/+$/, '');
  const symbols = [...own]
    .filter((symbol) => !PASSED_OVER.includes(symbol))
    .map((symbol) => READ_AS[symbol] ?? symbol);
  if (symbols.length !== LENGTH + 1) {
    return {
      error: { code: 'code.length', facts: { text: shown, symbols: symbols.length, right: LENGTH + 1 } },
    };
  }
  const odd = symbols.find((symbol, place) => !(place < LENGTH ? SYMBOLS : USABLE_CHECKS).includes(symbol));
  if (odd) return { error: { code: 'code.symbol', facts: { text: shown, symbol: odd } } };
  const code = symbols.join('');
  if (checkSymbol(code.slice(0, LENGTH)) !== code[LENGTH])
    return { error: { code: 'code.mistyped', facts: { text: shown } } };
  return { code };
}

/** A code as it is printed: `0000 016J D`. @param {string} code */
export const spaced = (code) => `${code.slice(0, 4)} ${code.slice(4, 8)} ${code.slice(8)}`;
