// Rooms out of what was typed or pasted: ranges, lists, columns; and how the numbers of a copied floor are shifted. Pure.

/** @typedef {{number: string, name: string}} RoomLine */
/** @typedef {{line: number, code: string, facts: Facts}} LineProblem `line`: from 1 */

/** More rooms than this no floor has; a slip of the finger has. */
export const MOST = 1000;
const MOST_IN_A_RANGE = 300;
const COLUMN = /[\t;]/;
const NUMBER_HEAD = /^(room )?(no|nr|number|num|#)\b/i;
const NAME_HEAD = /\b(name|title|description|use)\b/i;
/** A number's last digits, with what stands before and after them. */
const LAST_DIGITS = /^(.*?)(\d+)(\D*)$/;
const BETWEEN = /\s*(?:–|—|\.\.+|\bto\b)\s*/;
/** First digits of a number, when two more follow: the floor. */
const FLOOR_DIGITS = /^(\D*)(\d+)(\d\d)(\D*)$/;

/**
 * The rooms of a text, line by line.
 *
 * @param {string} text @returns {{rooms: RoomLine[], problems: LineProblem[]}}
 */
export function readRooms(text) {
  const lines = text.split(/\r\n|\r|\n/);
  const read = lines.some((line) => COLUMN.test(line)) ? fromColumns(lines) : fromLists(lines);
  if (read.rooms.length <= MOST) return read;
  const facts = { rooms: read.rooms.length, most: MOST };
  return { rooms: [], problems: [{ line: 1, code: 'rooms.too-many', facts }] };
}

/** @param {string[]} lines */
function fromColumns(lines) {
  const table = lines.map((line) => line.split(line.includes('\t') ? '\t' : ';').map(cellText));
  const heads = headsOf(table[0]);
  const { number, name } = heads ?? { number: 0, name: 1 };
  const rooms = table
    .slice(heads ? 1 : 0)
    .map((cells) => ({ number: cells[number] ?? '', name: cells[name] ?? '' }))
    .filter((room) => room.number || room.name);
  return { rooms, problems: /** @type {LineProblem[]} */ ([]) };
}

/** A cell as a spreadsheet copies it. @param {string} cell */
function cellText(cell) {
  const text = cell.trim();
  const quoted = /^"(.*)"$/s.exec(text);
  return quoted ? quoted[1].replaceAll('""', '"').trim() : text;
}

/** Which column is which, where the first row says so. @param {string[]} cells @returns {{number: number, name: number} | null} */
function headsOf(cells) {
  if (cells.some((cell) => /\d/.test(cell))) return null;
  const number = cells.findIndex((cell) => NUMBER_HEAD.test(cell));
  const name = cells.findIndex((cell, place) => place !== number && NAME_HEAD.test(cell));
  return number < 0 ? null : { number, name };
}

/** @param {string[]} lines */
function fromLists(lines) {
  /** @type {RoomLine[]} */
  const rooms = [];
  /** @type {LineProblem[]} */
  const problems = [];
  for (const [place, line] of lines.entries()) {
    for (const item of line.split(',').map((each) => each.trim())) {
      const told = item ? roomsOf(item) : [];
      if (Array.isArray(told)) rooms.push(...told);
      else problems.push({ line: place + 1, ...told });
    }
  }
  return { rooms, problems };
}

/** One item of a list: a range, a room with its name, or a name. @param {string} item @returns {RoomLine[] | Reason} */
function roomsOf(item) {
  const range = rangeOf(item);
  if (range) return Array.isArray(range) ? range.map((number) => ({ number, name: '' })) : range;
  if (!/\d/.test(item)) return [{ number: '', name: item }];
  const [, number, name = ''] = /^(\S+)(?:\s+(.*))?$/.exec(item) ?? ['', item];
  return /\d/.test(number) ? [{ number, name: name.replace(/^[–—-]\s*/, '') }] : [{ number: '', name: item }];
}

/** The numbers of a range; null where it is none. @param {string} item @returns {string[] | Reason | null} */
function rangeOf(item) {
  const [first, last, ...more] = item.split(BETWEEN);
  if (last !== undefined) return more.length === 0 ? between(first, last, item) : null;
  // A dash may stand in a number too: that one is the range's which has the like on both of its sides.
  const dashes = [...item.matchAll(/\s*-\s*/g)];
  for (const dash of dashes) {
    const found = between(item.slice(0, dash.index), item.slice(dash.index + dash[0].length), item);
    if (found) return found;
  }
  return null;
}

/** @param {string} first @param {string} last @param {string} range as it was typed @returns {string[] | Reason | null} */
function between(first, last, range) {
  const letters = /^(.*\d)([a-z])$/i.exec(first);
  const end = letters && new RegExp(`^(?:${escaped(letters[1])})?([a-z])$`, 'i').exec(last);
  if (letters && end) return lettersBetween(letters[1], letters[2], end[1], range);
  const from = LAST_DIGITS.exec(first);
  const to = LAST_DIGITS.exec(last);
  if (!from || !to || from[3] !== to[3] || /\s/.test(first + last)) return null;
  if (to[1] !== from[1] && to[1] !== '') return null;
  const [low, high] = [Number(from[2]), Number(to[2])];
  return counted(
    low,
    high,
    range,
    (each) => `${from[1]}${String(each).padStart(from[2].length, '0')}${from[3]}`,
  );
}

/** @param {string} head @param {string} first @param {string} last @param {string} range */
function lettersBetween(head, first, last, range) {
  const small = first === first.toLowerCase();
  const [low, high] = [first, last].map((letter) => letter.toUpperCase().charCodeAt(0));
  return counted(low, high, range, (code) => {
    const letter = String.fromCharCode(code);
    return head + (small ? letter.toLowerCase() : letter);
  });
}

/** @param {number} low @param {number} high @param {string} range @param {(each: number) => string} write @returns {string[] | Reason} */
function counted(low, high, range, write) {
  if (high < low) return { code: 'rooms.backwards', facts: { range } };
  if (high - low >= MOST_IN_A_RANGE)
    return { code: 'rooms.too-far', facts: { range, rooms: high - low + 1, most: MOST_IN_A_RANGE } };
  return Array.from({ length: high - low + 1 }, (_, at) => write(low + at));
}

/** @param {string} text */
const escaped = (text) => text.replace(/[.*+?^${}()|[\]\\-]/g, '\\$&');

/** By what two numbers are compared, as open points compare them. @param {string | undefined} number */
export const sameNumber = (number) => (number ?? '').trim().toLowerCase();

/** A number of a copied floor. @param {string} number @param {string} from what it begins with @param {string} to */
export const shifted = (number, from, to) =>
  number.startsWith(from) ? to + number.slice(from.length) : number;

/**
 * What the numbers of a floor begin with, and what those of the next would.
 *
 * @param {string[]} numbers @returns {{from: string, to: string}} empty where it cannot be told
 */
export function proposedShift(numbers) {
  const floors = numbers.filter(Boolean).map((number) => FLOOR_DIGITS.exec(number));
  const heads = new Set(floors.map((found) => found && found[1] + found[2]));
  const [one] = floors;
  if (heads.size === 1 && one) return { from: one[1] + one[2], to: one[1] + String(Number(one[2]) + 1) };
  const letters = new Set(numbers.filter(Boolean).map((number) => /^\D*/.exec(number)?.[0]));
  return { from: letters.size === 1 ? ([...letters][0] ?? '') : '', to: '' };
}

/** The name of the next floor; empty where the name has no number. @param {string} name */
export function nextName(name) {
  const found = /^(.*?)(\d+)(\D*)$/.exec(name);
  return found ? `${found[1]}${Number(found[2]) + 1}${found[3]}` : '';
}

/** More steps than this no proposal goes on past numbers in use. */
const MOST_STEPS = 500;

/**
 * The number that a next room probably bears: one more, or the next letter, past those that are in use.
 *
 * @param {string | undefined} number of the room before it @param {(string | undefined)[]} used
 * @returns {string} empty where it cannot be told
 */
export function nextNumber(number, used) {
  const taken = new Set(used.map(sameNumber));
  let at = (number ?? '').trim();
  for (let step = 0; step < MOST_STEPS; step += 1) {
    at = oneOn(at);
    if (!at || !taken.has(sameNumber(at))) return at;
  }
  return '';
}

/** @param {string} number */
function oneOn(number) {
  const letters = /^(.*\d)([a-y])$/i.exec(number);
  if (letters) return letters[1] + String.fromCharCode(letters[2].charCodeAt(0) + 1);
  const digits = /^(.*?)(\d+)$/.exec(number);
  return digits ? digits[1] + String(Number(digits[2]) + 1).padStart(digits[2].length, '0') : '';
}
