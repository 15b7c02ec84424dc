// A server of the contract in memory: one site, one log, merge by facet. For tests of the phone alone.

import { canonical, operationHash, sha256Of } from '../../../pwa/sync/canonical.js';
import { digest } from '../../../pwa/sync/digest.js';

function sumOf(records) {
  const { count, digest: sum } = digest(records);
  return { count, sum };
}

export class FakeServer {
  constructor() {
    this.incarnation = crypto.randomUUID();
    this.scope = 'surveyor.1';
    this.backedUp = 0;
    this.head = 0;
    /** @type {Map<string, any>} */
    this.records = new Map();
    /** @type {Map<string, {hash: string, answer: any, base: string | null, op?: any}>} `op`: of what is held */
    this.known = new Map();
    this.photos = new Map();
    /** @type {Map<string, {hash: string, answer: any, base: string | null}>} by former id and hash */
    this.arrived = new Map();
    /** Operations that are refused: (op) => {code, facts} | null */
    this.refuses = () => null;
    /** Operations that wait for a manager. @type {(op: any) => boolean} */
    this.holds = () => false;
    /** @type {Array<{path: string, body: any, query: URLSearchParams}>} */
    this.requests = [];
    /** What happens to the next requests: 'lost' (never arrives), 'answer-lost', or a status. @type {Array<string | number>} */
    this.faults = [];
    this.signedIn = true;
    /** The status of a push that the server fails on, by what is in it. @type {(operations: any[]) => number | null} */
    this.breaksOn = () => null;
  }

  /** Stands for fetch. @type {typeof fetch} */
  fetch = async (address, request = {}) => {
    const url = new URL(String(address), 'http://fake');
    const fault = this.faults.shift();
    if (fault === 'lost') throw new TypeError('fetch failed');
    const body = await bodyOf(request);
    this.requests.push({ path: url.pathname, body, query: url.searchParams });
    if (typeof fault === 'number') return json(fault, { code: `http-${fault}` });
    if (!this.signedIn) return json(401, { code: 'not-signed-in' });
    const answer = await this.#answer(url, request, body);
    if (fault === 'answer-lost') throw new TypeError('fetch failed');
    return answer;
  };

  async #answer(url, request, body) {
    if (url.pathname.endsWith('/push')) return this.#push(body);
    if (url.pathname.endsWith('/pull')) return this.#pull(url.searchParams);
    if (url.pathname.includes('/photos/') && request.method === 'PUT') return this.#photo(url, request);
    const picture = this.photos.get(url.pathname.split('/').at(-1));
    if (picture && request.method === 'GET') return new Response(picture, { headers: { 'Content-Type': 'image/jpeg' } });
    return json(404, { code: 'http-404' });
  }

  async #push(body) {
    const broken = this.breaksOn(body.operations);
    if (broken) return json(broken, { code: `http-${broken}` });
    if (body.incarnation !== null && body.incarnation !== this.incarnation)
      return json(409, { code: 'incarnation-changed', incarnation: this.incarnation });
    const answers = [];
    const forked = await this.#forked(body.operations);
    for (const op of body.operations) answers.push(await this.#take(op, forked.has(op.id.split('.')[0])));
    return json(200, { ...this.#about(), head: this.head, answers });
  }

  /** Devices that re-use an id with other content: nothing new is taken under their name. */
  async #forked(operations) {
    const devices = new Set();
    for (const op of operations) {
      const known = this.known.get(op.id);
      if (known && known.hash !== (await operationHash(op))) devices.add(op.id.split('.')[0]);
    }
    return devices;
  }

  #about() {
    return { incarnation: this.incarnation, scope: this.scope, backed_up: this.backedUp };
  }

  async #take(op, forked) {
    if (forked && !this.known.has(op.id)) return { id: op.id, result: 'fork' };
    const hash = await operationHash(op);
    const former = op.formerly && this.#former(op.formerly);
    const known = this.known.get(op.id) ?? former;
    if (known)
      return known === former || known.hash === hash
        ? { ...known.answer, id: op.id }
        : { id: op.id, result: 'fork' };
    if (this.holds(op)) return this.#hold(op, hash);
    const reason = this.refuses(op);
    const answer = reason ? { id: op.id, result: 'refused', ...reason } : this.#merge(op);
    const taken = { hash, answer, base: this.#baseOf(op, answer) };
    this.known.set(op.id, taken);
    if (op.formerly) this.arrived.set(`${op.formerly.id} ${op.formerly.hash}`, taken);
    return answer;
  }

  #hold(op, hash) {
    const answer = { id: op.id, result: 'held' };
    this.known.set(op.id, { hash, answer, base: this.#baseOf(op, answer), op });
    return answer;
  }

  /** A manager settles all that is held: it is merged, or refused for a reason. @param {{code: string, facts: any} | null} [reason] */
  settleHeld(reason = null) {
    for (const [id, { hash, answer, op }] of this.known) {
      if (answer.result !== 'held') continue;
      const now = reason ? { id, result: 'refused', ...reason } : this.#merge(op);
      this.known.set(id, { hash, answer: now, base: this.#baseOf(op, now) });
    }
  }

  /** What became of an operation that was called otherwise before. */
  #former({ id, hash }) {
    const known = this.known.get(id);
    return known?.hash === hash ? known : this.arrived.get(`${id} ${hash}`);
  }

  #baseOf(op, answer) {
    if (answer.result === 'applied') return op.id;
    if (answer.result === 'same') return this.records.get(op.record).facets[op.facet]?.op ?? null;
    return typeof op.seen === 'string' ? this.#follow(op.seen) : null;
  }

  #follow(seen) {
    return seen === null ? null : (this.known.get(seen)?.base ?? seen);
  }

  #merge(op) {
    const record = this.records.get(op.record) ?? this.#make(op);
    const value = op.facet === 'life' ? { removed: op.kind === 'remove' } : op.to;
    const held = record.facets[op.facet];
    const open = record.conflicts.length;
    const own = ({ id, facet, by }) => id === op.seen && facet === op.facet && by === op.by;
    record.conflicts = record.conflicts.filter(
      (conflict) => !op.settles.includes(conflict.id) && !own(conflict),
    );
    const named = record.conflicts.length < open;
    if (held && canonical(held.value) === canonical(value) && !named)
      return { id: op.id, result: 'same', seq: record.seq, record: copy(record) };
    const fits =
      op.kind === 'remove' ? this.#sawAll(op, record) : (held?.op ?? null) === this.#follow(op.seen);
    record.seq = ++this.head;
    if (!fits || (record.removed && op.facet !== 'life')) {
      const { id, facet, by, kind } = op;
      record.conflicts.push({
        id,
        facet,
        op: id,
        by,
        at: op.device_time,
        seq: record.seq,
        value,
        kind,
        device: id.split('.')[0],
      });
      return { id, result: 'conflict', seq: record.seq, record: copy(record) };
    }
    record.facets[op.facet] = { op: op.id, seq: record.seq, by: op.by, at: op.device_time, value };
    if (op.facet === 'life') record.removed = value.removed;
    if (op.facet === 'identity') record.parent = value.parent ?? null;
    return { id: op.id, result: 'applied', seq: record.seq };
  }

  #sawAll(op, record) {
    return Object.entries(record.facets).every(
      ([facet, held]) => this.#follow(op.seen[facet] ?? null) === held.op,
    );
  }

  #make(op) {
    const record = {
      id: op.record,
      type: op.type,
      parent: null,
      seq: 0,
      removed: false,
      facets: {},
      conflicts: [],
    };
    this.records.set(op.record, record);
    return record;
  }

  async #pull(query) {
    const since = Number(query.get('since'));
    if (query.get('incarnation') && query.get('incarnation') !== this.incarnation)
      return json(409, { code: 'incarnation-changed', incarnation: this.incarnation });
    if (query.get('scope') && query.get('scope') !== this.scope)
      return json(409, { code: 'scope-changed', scope: this.scope });
    const limit = Number(query.get('limit') ?? 1000);
    const floor = since === 0 ? this.head : Number(query.get('first_head') ?? 0);
    const shown = (record) => record.seq > floor || !record.removed || record.conflicts.length > 0;
    const newer = [...this.records.values()]
      .filter((record) => record.seq > since && shown(record))
      .sort((a, b) => a.seq - b.seq);
    const records = newer.slice(0, limit).map((record) => withoutEcho(record, query.get('device')));
    const more = newer.length > limit;
    const page = {
      ...this.#about(),
      head: this.head,
      next: more ? newer[limit - 1].seq : this.head,
      more,
      records,
    };
    return json(200, more ? page : { ...page, ...sumOf([...this.records.values()]) });
  }

  async #photo(url, request) {
    const name = url.pathname.split('/').at(-1);
    const found = await sha256Of(request.body);
    if (found !== name) return json(422, { code: 'photo-hash-differs' });
    this.photos.set(name, request.body);
    return json(201, { sha256: name, bytes: request.body.byteLength });
  }

  /** As it was yesterday: what came later is gone, and it goes by another incarnation. */
  snapshot() {
    return structuredClone({
      head: this.head,
      records: this.records,
      known: this.known,
      arrived: this.arrived,
    });
  }

  putBack(snapshot) {
    Object.assign(this, structuredClone(snapshot));
    this.incarnation = crypto.randomUUID();
  }

  /** How many conflicts are open. */
  conflicts() {
    return [...this.records.values()].reduce((count, record) => count + record.conflicts.length, 0);
  }
}

const copy = (record) => structuredClone(record);

function withoutEcho(record, device) {
  const sent = copy(record);
  for (const held of Object.values(sent.facets))
    if (device && held.op.startsWith(`${device}.`)) delete held.value;
  return sent;
}

async function bodyOf({ headers = {}, body }) {
  if (body === undefined || typeof body === 'string') return body && JSON.parse(body);
  if (headers['Content-Encoding'] !== 'gzip') return body;
  const stream = new Blob([body]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Response(stream).json();
}

const json = (status, body) =>
  new Response(JSON.stringify(body), { status, headers: { 'Content-Type': 'application/json' } });
