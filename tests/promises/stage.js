// What a promise is played on: phones of the shipped code, a proxy that plays tricks, an office, a site of its own.

import { createInterface } from 'node:readline';
import { canonical, sha256Of } from '../../pwa/sync/canonical.js';
import { cycle } from '../../pwa/sync/cycle.js';
import { digest } from '../../pwa/sync/digest.js';
import { FaultyProxy } from '../sync/support/faulty_proxy.js';
import { Office } from '../sync/support/office.js';
import { newPhone } from '../sync/support/phone.js';

export class Crash extends Error {}

const lines = createInterface({ input: process.stdin })[Symbol.asyncIterator]();
export const nextLine = async () => JSON.parse((await lines.next()).value);
export const say = (what) => process.stdout.write(`${JSON.stringify(what)}\n`);

export class Stage {
  /** @param {{base: string, site: string, people: any[], owner: string, password: string, jpeg: string, arguments: any}} told */
  constructor(told) {
    Object.assign(this, told);
    this.office = new Office({
      base: told.base,
      site: told.site,
      cookie: told.owner,
      password: told.password,
      ask: (what) => this.ask(what),
    });
    this.proxy = new FaultyProxy(told.base);
    this.phones = [];
    this.made = 0;
  }

  /** Have the test do what only the server's machine can. */
  async ask(what) {
    say(what);
    return nextLine();
  }

  /**
   * A phone of one of the people. `fault(request number, address, request)` says what happens to each message;
   * `write(number, when)` is called before and after each durable write.
   */
  async phone({
    who = 0,
    database = `stage-${crypto.randomUUID()}`,
    clockMs = 0,
    spec = 1,
    fault = () => null,
    write = () => {},
  } = {}) {
    const about = { who, fault, write, requests: 0, writes: 0, cookie: this.people[who].cookie };
    const server = { fetch: (address, request) => this.#send(phone, address, request) };
    const now = () => new Date(Date.now() + clockMs).toISOString();
    const phone = await newPhone(server, {
      site: this.site,
      person: this.people[who].person,
      database,
      base: this.proxy.base,
      spec,
      now,
    });
    Object.assign(phone, about);
    const { connection } = phone.storage;
    const run = connection.run.bind(connection);
    connection.run = async (stores, mode, work, durability) => {
      if (mode === 'readonly') return run(stores, mode, work, durability);
      const number = phone.writes++;
      phone.write(number, 'before');
      const result = await run(stores, mode, work, durability);
      phone.write(number, 'after');
      return result;
    };
    this.phones.push(phone);
    return phone;
  }

  async #send(phone, address, request) {
    const fault = await phone.fault(phone.requests++, String(address), request);
    const [name, at = 0.5] = [fault ?? []].flat();
    const tricks = name ? { 'x-fault': name, 'x-fault-at': String(at) } : {};
    return fetch(address, { ...request, headers: { ...request.headers, ...tricks, Cookie: phone.cookie } });
  }

  /** Sync; a message that got no answer is what it is. @returns {Promise<string | null>} what stopped it */
  async trySync(phone) {
    try {
      await cycle(phone.storage, phone.transport);
      return null;
    } catch (error) {
      if (error.name !== 'NoAnswer') throw error;
      return error.code;
    }
  }

  /** Everybody syncs until all has arrived and all have seen it. */
  async settle(phones = this.phones) {
    while (this.proxy.late.length) await this.proxy.deliver(0);
    for (let round = 0; round < Math.min(3, phones.length + 1); round++)
      for (const phone of phones) await cycle(phone.storage, phone.transport);
  }

  /** What is only on a phone. */
  async left({ storage }) {
    const { operations, photos, refused } = await storage.counts();
    return { operations, photos, refused };
  }

  /** The copy of every phone and the server's own state are one. */
  async oneState(phones = this.phones) {
    const { told, own } = await this.office.siteState();
    const copies = await Promise.all(
      phones.map(async ({ storage }) => (await digest(await storage.kept())).digest),
    );
    return new Set([told, own, ...copies]).size === 1;
  }

  /** Records of the site on the server. */
  async records() {
    return (await this.office.siteState()).records;
  }

  /** A photo unlike every other. */
  async takePhoto(phone, subject) {
    const comment = new TextEncoder().encode(`photo ${++this.made} ${crypto.randomUUID()}`);
    const whole = Buffer.from(this.jpeg, 'base64');
    const bytes = new Uint8Array([
      ...whole.subarray(0, 2),
      0xff,
      0xfe,
      0,
      comment.length + 2,
      ...comment,
      ...whole.subarray(2),
    ]).buffer;
    const sha256 = await sha256Of(bytes);
    const record = crypto.randomUUID();
    const value = { parent: this.site, subject, purpose: 'room', sha256, bytes: bytes.byteLength };
    const row = { sha256, record, bytes: bytes.byteLength, at: phone.storage.now(), received: false };
    await phone.storage.save([{ record, type: 'photo', facet: 'identity', value, seen: null }], {
      row,
      bytes,
    });
    return { record, sha256, value };
  }
}

export { canonical };
