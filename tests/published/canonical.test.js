// The page's canonical text and its hash against the published examples of canonical.json, as test_canonical.py.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { canonical, sha256Of } from '../../pwa/sync/canonical.js';

const { sample, hashes } = JSON.parse(readFileSync(new URL('./canonical.json', import.meta.url), 'utf8'));

test("the author's sample has the canonical form of RFC 8785", async () => {
  const text = canonical(JSON.parse(sample.text));
  assert.equal(text, sample.canonical);
  assert.equal(await sha256Of(text), sample.sha256);
});

test('hashes are the printed ones', async () => {
  for (const { text, sha256_base64: printed } of hashes)
    assert.equal(Buffer.from(await sha256Of(text), 'hex').toString('base64'), printed);
});
