// A length as somebody says it in Spanish, as text that can be typed. Accents do not count: browsers leave some out.

/** @type {Record<string, number>} */
const SMALL = {
  cero: 0,
  un: 1,
  uno: 1,
  una: 1,
  dos: 2,
  tres: 3,
  cuatro: 4,
  cinco: 5,
  seis: 6,
  siete: 7,
  ocho: 8,
  nueve: 9,
  diez: 10,
  once: 11,
  doce: 12,
  trece: 13,
  catorce: 14,
  quince: 15,
  dieciseis: 16,
  diecisiete: 17,
  dieciocho: 18,
  diecinueve: 19,
  veinte: 20,
  veintiun: 21,
  veintiuno: 21,
  veintiuna: 21,
  veintidos: 22,
  veintitres: 23,
  veinticuatro: 24,
  veinticinco: 25,
  veintiseis: 26,
  veintisiete: 27,
  veintiocho: 28,
  veintinueve: 29,
};
/** @type {Record<string, number>} */
const TENS = { treinta: 30, cuarenta: 40, cincuenta: 50, sesenta: 60, setenta: 70, ochenta: 80, noventa: 90 };
/** Before others it is 'ciento'; feminine with inches. @type {Record<string, number>} */
const HUNDREDS = {
  ciento: 100,
  doscientos: 200,
  trescientos: 300,
  cuatrocientos: 400,
  quinientos: 500,
  seiscientos: 600,
  setecientos: 700,
  ochocientos: 800,
  novecientos: 900,
};
/** Parts of an inch by what they are called, in the singular. @type {Record<string, number>} */
const PARTS = { cuarto: 4, octavo: 8, dieciseisavo: 16, treintaidosavo: 32, sesentaicuatroavo: 64 };
const UNITS = /\s*\b(pulgadas?|milimetros?|mm)\.?$/;
const HALF = /^(?:(.+?) y )?medi[ao]$/;
const DIGITS = /^(?:(.+?)\s+(?:y\s+)?)?(\d+)\s*[/⁄]\s*(\d+)$/;
export const YES = new Set(['si', 'correcto', 'correcta', 'guardar', 'guarda']);
export const NO = new Set([
  'no',
  'mal',
  'incorrecto',
  'incorrecta',
  'otra',
  'nunca',
  'tampoco',
  'cancelar',
  'cancela',
]);

/** In small letters and without accents. @param {string} said */
const plain = (said) => said.toLowerCase().normalize('NFD').replace(/\p{M}/gu, '');

/**
 * The text of a length that was said, as the pad would have it; null where it is none, or could be two.
 *
 * @param {string} said as a browser heard it: words, digits or both @returns {string | null} `47 5/16`, `1198.5 mm`
 */
export function spokenLength(said) {
  const words = plain(said)
    .replace(/[.!?¡¿]+$/, '')
    .trim();
  const unit = UNITS.exec(words)?.[1] ?? '';
  const length = words.replace(UNITS, '').replace(/ de$/, '').trim();
  const metric = unit.startsWith('m');
  const text = fractional(length) ?? decimal(length);
  if (text === null || (metric && text.includes('/'))) return null;
  return metric ? `${text} mm` : text;
}

/** `cuarenta y siete y cinco dieciseisavos`: whole inches and a part, or a part alone. @param {string} said @returns {string | null} */
function fractional(said) {
  const half = HALF.exec(said);
  if (half) return joined(half[1], 1, 2);
  const digits = DIGITS.exec(said);
  if (digits) return joined(digits[1], Number(digits[2]), Number(digits[3]));
  const words = said.split(/\s+/);
  const under = PARTS[(words.pop() ?? '').replace(/s$/, '')];
  return under === undefined ? null : onlyOne(splits(words, under));
}

/**
 * All that a number of parts may be split from the inches before it: 'treinta y cinco octavos' is one thing, of 64ths it is two.
 *
 * @param {string[]} words @param {number} under @returns {string[]}
 */
function splits(words, under) {
  const found = new Set();
  for (let at = 0; at < words.length; at += 1) {
    const over = whole(words.slice(at));
    if (over === null || over < 1 || over >= under) continue;
    const before = words.slice(0, words[at - 1] === 'y' ? at - 1 : at).join(' ');
    const text = joined(before || undefined, over, under);
    if (text !== null) found.add(text);
  }
  return [...found];
}

/** @param {string[]} found */
const onlyOne = (found) => (found.length === 1 ? found[0] : null);

/** @param {string | undefined} inches @param {number} over @param {number} under */
function joined(inches, over, under) {
  if (inches === undefined) return `${over}/${under}`;
  const number = whole(inches.replace(/\s+pulgadas?$/, '').split(/\s+/));
  return number === null ? null : `${number} ${over}/${under}`;
}

/** `mil ciento noventa y ocho coma cinco`; in digits with a comma or a point. @param {string} said @returns {string | null} */
function decimal(said) {
  const digits = inDigits(said);
  if (digits !== undefined) return digits;
  const [before, after, ...more] = said.split(/\s+(?:coma|punto)\s+/);
  const number = whole(before.split(/\s+/));
  if (number === null || more.length > 0) return null;
  if (after === undefined) return String(number);
  const decimals = after.split(/\s+/).map((word) => (/^\d+$/.test(word) ? word : SMALL[word]));
  return decimals.some((each) => each === undefined) ? null : `${number}.${decimals.join('')}`;
}

/**
 * A number in digits alone. One mark before three digits is a decimal mark to some who speak Spanish and parts thousands for
 * others: null, which is none. Undefined where there are words.
 *
 * @param {string} said @returns {string | null | undefined}
 */
function inDigits(said) {
  if (!/^[\d.,]+$/.test(said)) return undefined;
  const found =
    /^(\d{1,3}(?:\.\d{3})*|\d+)(?:,(\d+))?$/.exec(said) ??
    /^(\d{1,3}(?:,\d{3})*|\d+)(?:\.(\d+))?$/.exec(said);
  if (!found || /^\d{1,3}[.,]\d{3}$/.test(said)) return null;
  const number = found[1].replace(/[.,]/g, '');
  return found[2] === undefined ? number : `${number}.${found[2]}`;
}

/** A whole number in digits or words, below a million: `47`, `mil doscientos cinco`. @param {string[]} words @returns {number | null} */
function whole(words) {
  if (words.length === 1 && /^\d+$/.test(words[0])) return Number(words[0]);
  const at = words.indexOf('mil');
  if (at < 0) return belowThousand(words);
  const thousands = at === 0 ? 1 : belowThousand(words.slice(0, at));
  const rest = at === words.length - 1 ? 0 : belowThousand(words.slice(at + 1));
  return thousands === null || rest === null ? null : thousands * 1000 + rest;
}

/** @param {string[]} words @returns {number | null} */
function belowThousand(words) {
  if (words.length === 1 && words[0] === 'cien') return 100;
  const hundred = HUNDREDS[(words[0] ?? '').replace(/as$/, 'os')];
  if (hundred === undefined) return belowHundred(words);
  const rest = words.length === 1 ? 0 : belowHundred(words.slice(1));
  return rest === null ? null : hundred + rest;
}

/** @param {string[]} words @returns {number | null} */
function belowHundred([first, and, last, ...more]) {
  if (and === undefined) return SMALL[first] ?? TENS[first] ?? null;
  const [tens, unit] = [TENS[first], SMALL[last]];
  const isOne = and === 'y' && more.length === 0 && tens !== undefined && unit >= 1 && unit <= 9;
  return isOne ? tens + unit : null;
}
