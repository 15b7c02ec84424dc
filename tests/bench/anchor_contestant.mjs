// Spanwalk as one contestant of a harness that measures general-purpose sync in Chromium; how to run it stands in anchor.md.
//
// Each of the harness's documents is one record: a cavity reading that carries the document in its field of any data.
// So it pays for everything that a surveyor's record pays: sign-in, rights, checks of each field, merging, the log, the digest.

import { spawn } from 'node:child_process';

const PASSWORD = 'walk the span';
const START_MS = 60_000;
const SAVED_AT_ONCE = 500;
const MARK = 'harness';

/** @param {{dir: string, port: number}} where @returns {Promise<{pid: number, stop: () => Promise<void>}>} */
async function start({ dir, port }) {
  const server = spawn('python', ['-m', 'spanwalk.cli', 'demo', '--port', `${port}`, '--data', `${dir}/data`], {
    stdio: ['ignore', 'ignore', 'inherit'],
  });
  const ended = new Promise((done) => server.once('exit', done));
  const stop = async () => {
    server.kill();
    await ended;
  };
  const until = Date.now() + START_MS;
  while (!(await isUp(port))) {
    if (Date.now() > until || server.exitCode !== null) {
      await stop();
      throw new Error('the server did not start');
    }
    await new Promise((done) => setTimeout(done, 50));
  }
  return { pid: Number(server.pid), stop };
}

/** @param {number} port */
const isUp = (port) =>
  fetch(`http://127.0.0.1:${port}/api/health`).then(
    (answer) => answer.ok,
    () => false,
  );

/** The group that readings hang on, by origin: the first phone makes it. @type {Map<string, {site: string, group: string}>} */
const places = new Map();

/** Sign in; on the first phone make an empty site with one group. @param {any} page @param {{origin: string}} ctx */
async function prepare(page, { origin }) {
  await page.goto(`${origin}/sign-in`);
  await page.getByLabel('Name', { exact: true }).fill('owner');
  await page.getByLabel('Password', { exact: true }).fill(PASSWORD);
  const site = places.get(origin)?.site ?? (await newSite(origin));
  await page.getByRole('button', { name: 'Sign in', exact: true }).click();
  await page.waitForURL((/** @type {URL} */ at) => !at.pathname.includes('sign-in'));
  const group = await page.evaluate(open, [site, places.get(origin)?.group ?? null, MARK]);
  places.set(origin, { site, group });
}

/** @param {string} origin @returns {Promise<string>} */
async function newSite(origin) {
  const json = { 'content-type': 'application/json', origin };
  const signedIn = await fetch(`${origin}/api/session`, {
    method: 'POST',
    headers: json,
    body: JSON.stringify({ name: 'owner', password: PASSWORD }),
  });
  const cookie = signedIn.headers.getSetCookie().map((each) => each.split(';')[0]).join('; ');
  const made = await fetch(`${origin}/api/sites`, {
    method: 'POST',
    headers: { ...json, cookie },
    body: JSON.stringify({ name: 'A measurement' }),
  });
  if (made.status !== 201) throw new Error(`no site was made: ${made.status} ${await made.text()}`);
  return (await made.json()).id;
}

/* What follows runs in the page. It is timed with its own engine at rest, so that nothing else syncs meanwhile. */

async function open([site, group, mark]) {
  const { store } = await import('/app/store/store.js');
  const { pushAll } = await import('/app/sync/push.js');
  const { pullAll } = await import('/app/sync/pull.js');
  // The app's own files are fetched for work without a signal: that is over before anything is measured.
  await navigator.serviceWorker.ready;
  const opened = await store.openSite(site);
  opened.engine.stop();
  await opened.engine.running?.catch(() => null);
  const { storage, engine } = opened;
  const timed = async (work) => {
    const started = performance.now();
    await work();
    return { ms: performance.now() - started };
  };
  const identity = (record, type, value) => ({ record, type, facet: 'identity', value, seen: null });
  let hangsOn = group;
  if (!hangsOn) {
    const [floor, room, kind] = [opened.newId(), opened.newId(), opened.newId()];
    hangsOn = opened.newId();
    await storage.save([
      identity(floor, 'floor', { parent: site, name: 'Floor' }),
      identity(room, 'room', { parent: floor, name: 'Room' }),
      identity(kind, 'kind', { parent: site, mark: 'K1' }),
      identity(hangsOn, 'group', { parent: room, kind }),
    ]);
    await pushAll(storage, engine.transport);
    await pullAll(storage, engine.transport);
  }
  const draft = (doc) =>
    identity(doc.id, 'cavity_reading', {
      parent: hangsOn, position: 1, row: 1, cavity: 1, length_ticks: 384000, as_entered: mark, instrument: 'tape class II', verdict_seen: doc,
    });
  window.measured = {
    timed,
    draft,
    save: (drafts) => storage.save(drafts),
    get: (id) => storage.get(id),
    push: () => timed(() => pushAll(storage, engine.transport)),
    pull: () =>
      timed(async () => {
        const { matches } = await pullAll(storage, engine.transport);
        if (!matches) throw new Error('the copy is not what the server has');
      }),
    all: async () => (await opened.all('cavity_reading')).map((record) => record.facets.identity.verdict_seen),
  };
  return hangsOn;
}

const inPage = {
  bulk: async ([docs, atOnce]) => {
    const { timed, save, draft } = window.measured;
    return timed(async () => {
      for (let first = 0; first < docs.length; first += atOnce)
        await save(docs.slice(first, first + atOnce).map(draft));
    });
  },
  one: async (docs) => {
    const { save, draft } = window.measured;
    const taken = [];
    const started = performance.now();
    for (const doc of docs) {
      const before = performance.now();
      await save([draft(doc)]);
      taken.push(performance.now() - before);
    }
    const ms = performance.now() - started;
    taken.sort((a, b) => a - b);
    const at = (share) => taken[Math.min(taken.length - 1, Math.floor(taken.length * share))];
    return { ms, p50: at(0.5), p95: at(0.95), p99: at(0.99), max: at(1) };
  },
  change: async (docs) => {
    const { timed, save, draft, get } = window.measured;
    return timed(async () => {
      for (const doc of docs)
        await save([{ ...draft(doc), seen: (await get(doc.id)).seen.identity }]);
    });
  },
};

export default {
  name: 'spanwalk',
  note: 'the whole path: sign-in, rights, checks, merging, log, digest; strict on the phone, FULL on the server; gzip',
  page: '/sign-in',
  ownPage: true,
  start,
  ops: {
    prepare,
    localWriteBulk: (page, docs) => page.evaluate(inPage.bulk, [docs, SAVED_AT_ONCE]),
    localWriteOne: (page, docs) => page.evaluate(inPage.one, docs),
    push: (page) => page.evaluate(() => window.measured.push()),
    pull: (page) => page.evaluate(() => window.measured.pull()),
    change: (page, docs) => page.evaluate(inPage.change, docs),
    all: (page) => page.evaluate(() => window.measured.all()),
  },
};
