// What comes back to who wrote it, and tells nothing new, is read and not written again.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isKnown } from '../../pwa/storage/merging.js';
import { FakeServer } from './support/fake_server.js';
import { newPhone } from './support/phone.js';

const record = () => ({
  seq: 9,
  facets: { identity: { seq: 4 }, progress: { seq: 9 } },
  conflicts: [{ id: 'c' }],
});
const state = (change = {}) => ({
  seq: 9,
  facets: { identity: { seq: 4 }, progress: { seq: 9 } },
  conflicts: [{ id: 'c' }],
  ...change,
});

test('a state is known when nothing of it is newer and its conflicts are those that are here', () => {
  assert.ok(isKnown(record(), state()));
  assert.ok(
    isKnown({ ...record(), seq: 10 }, state({ conflicts: [] })),
    'the list here is of a higher sequence',
  );
  assert.ok(!isKnown(record(), state({ seq: 10 })));
  assert.ok(!isKnown(record(), state({ conflicts: [] })));
  assert.ok(!isKnown(record(), state({ conflicts: [{ id: 'd' }] })));
  assert.ok(!isKnown(record(), state({ facets: { identity: { seq: 5 } } })));
  assert.ok(
    !isKnown(record(), state({ facets: { walk: { seq: 1 } } })),
    'a facet that somebody else wrote before',
  );
});

test('the pull after a push writes none of the records again', async () => {
  const phone = await newPhone(new FakeServer());
  await phone.room('there before');
  await phone.sync();
  for (let n = 0; n < 40; n++) await phone.room(`room ${n}`);
  let written = 0;
  const put = IDBObjectStore.prototype.put;
  const push = phone.transport.push.bind(phone.transport);
  phone.transport.push = async (body) => {
    const answer = await push(body);
    written = 0;
    return answer;
  };
  let answered = 0;
  const take = phone.storage.takeAnswersIn;
  phone.storage.takeAnswersIn = async () => {
    const result = await take();
    answered ||= written;
    return result;
  };
  IDBObjectStore.prototype.put = function (...row) {
    if (this.name === 'records') written += 1;
    return put.apply(this, row);
  };
  try {
    await phone.sync();
  } finally {
    IDBObjectStore.prototype.put = put;
  }
  assert.equal(answered, 80, 'each was written with its answer');
  assert.equal(written, 80, 'and not again with the pull');
  assert.equal((await phone.storage.kept()).length, 82);
});
