// A phone without a browser: the shipped storage and sync over a database in memory.

import { STAYS } from '../../../pwa/rules/constants.js';
import '../../../pwa/node_modules/fake-indexeddb/auto/index.mjs';
import { SiteStorage } from '../../../pwa/storage/site_storage.js';
import { cycle } from '../../../pwa/sync/cycle.js';
import { Transport } from '../../../pwa/sync/transport.js';

export const SITE = '5bb1f0f2-65a0-4c5e-9d24-1f4f0a6f2a11';
export const POINTERS = {
  refs: { group: [['identity', 'kind']], photo: [['identity', 'subject']], label: [['binding', 'group']] },
  lookups: { label: ['identity', 'code'] },
};
let made = 0;

/** @param {any} server has a `fetch` @param {{site?: string, person?: string, database?: string, now?: () => string, base?: string, spec?: number}} [how] */
export async function newPhone(server, how = {}) {
  made += 1;
  const site = how.site ?? SITE;
  const database = how.database ?? `phone-${made}`;
  const storage = await SiteStorage.open({
    site,
    person: how.person ?? '00000000-0000-4000-8000-00000000000a',
    pointers: POINTERS,
    staying: STAYS,
    spec: 2,
    now: how.now,
    database,
  });
  const transport = new Transport(site, { fetch: server.fetch, base: how.base ?? 'http://fake' });
  return {
    database,
    storage,
    transport,
    sync: () => cycle(storage, transport),
    save: (...drafts) => storage.save(drafts),
    /** Set one facet, as a form does that shows what is there now. */
    async set(record, type, facet, value) {
      const held = await storage.get(record);
      return storage.save([{ record, type, facet, value, seen: held?.seen[facet] ?? null }]);
    },
    /** A room with a floor, as the walk makes them. */
    async room(name = 'Bottling') {
      const [floor, room] = [crypto.randomUUID(), crypto.randomUUID()];
      await storage.save([
        {
          record: floor,
          type: 'floor',
          facet: 'identity',
          value: { parent: site, name: 'Ground' },
          seen: null,
        },
        { record: room, type: 'room', facet: 'identity', value: { parent: floor, name }, seen: null },
      ]);
      return { floor, room };
    },
  };
}
