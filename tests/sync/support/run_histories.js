// Runs random histories against a server over HTTP, through a proxy that plays tricks. What it is told comes as the first
// line of standard input; what it finds goes out as lines of JSON; what only the server's machine can do is asked for.

import { createInterface } from 'node:readline';
import { FaultyProxy } from './faulty_proxy.js';
import { History } from './history.js';
import { Office } from './office.js';

const lines = createInterface({ input: process.stdin })[Symbol.asyncIterator]();
const nextLine = async () => JSON.parse((await lines.next()).value);
const say = (what) => process.stdout.write(`${JSON.stringify(what)}\n`);

/** A history is of one person alone, of three, of three and an office that acts, or also of a server set back; or of two careful ones. */
const KINDS = ['alone', 'plain', 'office', 'everything'];
const PEOPLE = { alone: 1, careful: 2 };

/** @type {{base: string, phones: Array<{name: string, person: string, cookie: string}>, sites: string[], seed: number, steps: number, kinds?: string[], owner: string, password: string, jpeg: string}} */
const told = await nextLine();
const proxy = await new FaultyProxy(told.base).start();
const jpeg = Uint8Array.from(Buffer.from(told.jpeg, 'base64')).buffer;

const network = (phone) => (address, request) =>
  fetch(address, { ...request, headers: { ...request.headers, Cookie: phone.cookie } });

async function ask(what) {
  say(what);
  const { error } = await nextLine();
  if (error) throw new Error(error);
}

for (const [place, site] of told.sites.entries()) {
  const seed = told.seed + place;
  const kinds = told.kinds ?? KINDS;
  const kind = kinds[seed % kinds.length];
  const office = new Office({ base: told.base, site, cookie: told.owner, password: told.password, ask });
  const history = new History({
    seed,
    people: told.phones.slice(0, PEOPLE[kind] ?? told.phones.length),
    careful: kind === 'careful',
    network,
    site,
    base: /** @type {string} */ (proxy.base),
    office,
    officeActs: kind === 'office' || kind === 'everything',
    setBacks: kind === 'everything',
    jpeg,
    post: proxy,
  });
  try {
    await history.run(told.steps);
    say({
      seed,
      kind,
      wrong: await history.wrong(),
      counts: history.counts,
      conflicts: await history.conflicts(),
    });
  } catch (error) {
    say({ seed, kind, wrong: [`it broke: ${error.stack}`], counts: history.counts, conflicts: 0 });
    proxy.late.length = 0;
  }
}
proxy.stop();
process.stdout.write('', () => process.exit(0));
