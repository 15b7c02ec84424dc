// Unsent work that was carried here as a file from another phone: checked, then sent through the same requests.

import { batchOf } from './push.js';
import { mayBeOne, standsAlone } from './poison_operation.js';
import { NoAnswer } from './transport.js';

/** @typedef {import('../storage/types.js').Operation} Operation */
/** @typedef {import('../storage/types.js').Answer} Answer */
/** @typedef {import('../storage/site_storage.js').SiteStorage} SiteStorage */
/** @typedef {import('./transport.js').Transport} Transport */

/**
 * @typedef {{sha256: string, record: string, at: string, jpeg_base64: string | null}} CarriedPhoto
 * @typedef {object} Carried
 * @property {string} site
 * @property {string} person who made it
 * @property {string} device
 * @property {string} made_at
 * @property {Operation[]} operations
 * @property {Array<{operation: Operation, code: string, facts: Facts}>} refused
 * @property {CarriedPhoto[]} photos
 *
 * @typedef {object} Outcome
 * @property {Record<string, number>} results how many operations came to each result
 * @property {Array<{operation: Operation, code: string, facts: Facts}>} refused now, or before it was carried
 * @property {number} photos how many arrived
 * @property {Array<{sha256: string, code: string, facts: Facts}>} photosRefused
 */

export const FORMAT = 'spanwalk-unsent-work';
export const FORMAT_VERSION = 1;
const SHA256 = /^[0-9a-f]{64}$/;

/** The file cannot be taken; nothing of it was sent. */
export class NotCarried extends Error {
  /** @param {string} code @param {Facts} [facts] */
  constructor(code, facts = {}) {
    super(code);
    this.name = 'NotCarried';
    this.code = code;
    this.facts = facts;
  }
}

/**
 * What a file holds.
 *
 * @param {string} text @param {string} site id of the site that it is brought to
 * @returns {Carried}
 * @throws {NotCarried} not such a file, of another site, or not whole
 */
export function readCarried(text, site) {
  const file = parsed(text);
  if (file?.format !== FORMAT) throw new NotCarried('carried.not-such-a-file');
  if (file.version !== FORMAT_VERSION)
    throw new NotCarried('carried.other-version', { value: String(file.version), right: FORMAT_VERSION });
  if (file.site !== site) throw new NotCarried('carried.other-site');
  const whole = /** @type {const} */ (['operations', 'refused', 'photos']).find(
    (name) => !isListOfObjects(file[name]),
  );
  if (whole) throw new NotCarried('carried.part-missing', { field: whole });
  const photo = file.photos.find((each) => !SHA256.test(each.sha256));
  if (photo) throw new NotCarried('carried.part-missing', { field: 'photos' });
  return file;
}

/** @param {string} text @returns {(Carried & {format?: unknown, version?: unknown}) | undefined} as far as it is one; undefined when it is not JSON */
function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** @param {unknown} value */
const isListOfObjects = (value) =>
  Array.isArray(value) && value.every((each) => each !== null && typeof each === 'object');

/**
 * Send what a file holds. The same file again changes nothing: the server knows each operation by its id.
 *
 * @param {SiteStorage} storage of who sends it
 * @param {Transport} transport
 * @param {Carried} carried
 * @param {(done: number, of: number) => void} [onStep] after each request
 * @returns {Promise<Outcome>}
 * @throws {NoAnswer} it stopped there; what was answered stays answered, and the file can be sent again
 */
export async function sendCarried(storage, transport, carried, onStep = () => {}) {
  /** @type {Outcome} */
  const outcome = { results: {}, refused: [...carried.refused], photos: 0, photosRefused: [] };
  const of = carried.operations.length + carried.photos.length;
  let most = carried.operations.length;
  for (let at = 0; at < carried.operations.length; ) {
    const batch = nextBatch(carried.operations, at).slice(0, most);
    const answers = await answersTo(storage, transport, batch);
    if (answers === null) {
      most = Math.ceil(batch.length / 2);
      continue;
    }
    note(outcome, batch, answers);
    at += batch.length;
    onStep(at, of);
  }
  for (const [place, photo] of carried.photos.entries()) {
    await sendPhoto(transport, photo, outcome);
    onStep(carried.operations.length + place + 1, of);
  }
  return outcome;
}

/** @param {SiteStorage} storage @param {Transport} transport @param {Operation[]} batch @returns {Promise<Answer[] | null>} null when less is to be sent at a time */
async function answersTo(storage, transport, batch) {
  const packed = await transport.pack(await envelope(storage, batch));
  try {
    return (await transport.push(packed)).answers;
  } catch (error) {
    if (!mayBeOne(error)) throw error;
    if (batch.length > 1) return null;
    const empty = await transport.pack(await envelope(storage, []));
    return (await standsAlone(transport, { packed, op: batch[0], empty })).answers;
  }
}

/** @param {Operation[]} operations @param {number} from */
function nextBatch(operations, from) {
  const waiting = operations.slice(from).map((op, n) => ({ n, id: op.id, record: op.record, op }));
  return batchOf(waiting).map(({ op }) => op);
}

/** The sender's own device speaks for itself; each operation names the one that it was made on. @param {SiteStorage} storage @param {Operation[]} operations */
async function envelope(storage, operations) {
  const [phone, counts] = await Promise.all([storage.phone(), storage.counts()]);
  return {
    device: phone.device,
    epoch: phone.epoch,
    incarnation: null,
    scope: null,
    unsent: { operations: counts.operations, photos: counts.photos },
    operations,
  };
}

/** @param {Outcome} outcome @param {Operation[]} batch @param {Answer[]} answers */
function note(outcome, batch, answers) {
  for (const [place, answer] of answers.entries()) {
    outcome.results[answer.result] = (outcome.results[answer.result] ?? 0) + 1;
    if (answer.result === 'refused')
      outcome.refused.push({
        operation: batch[place],
        code: answer.code ?? 'refused',
        facts: answer.facts ?? {},
      });
  }
}

/** @param {Transport} transport @param {CarriedPhoto} photo @param {Outcome} outcome */
async function sendPhoto(transport, { sha256, jpeg_base64 }, outcome) {
  /** @param {string} code @param {Facts} facts */
  const refuse = (code, facts) => outcome.photosRefused.push({ sha256, code, facts });
  if (!jpeg_base64) {
    refuse('phone.photo-lost', { sha256 });
    return;
  }
  try {
    await transport.putPhoto(sha256, await bytesOf(jpeg_base64));
    outcome.photos += 1;
  } catch (error) {
    if (!(error instanceof NoAnswer) || error.status < 400 || error.status >= 500 || error.status === 401)
      throw error;
    refuse(error.code, error.facts);
  }
}

/** @param {string} base64 @returns {Promise<ArrayBuffer>} empty when it is not base64; the server then says what it wants */
async function bytesOf(base64) {
  try {
    return Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0)).buffer;
  } catch {
    return new ArrayBuffer(0);
  }
}
