// The id of a site's own figure, against Python's uuid.uuid5: so that whoever sets it, phone or program, means one record.
import assert from 'node:assert/strict';
import test from 'node:test';
import { figureId } from '../../pwa/views/desk/figure_id.js';

const SITE = '0d3e6f10-7a52-4c1b-9c57-3b0a5d1f2e44';

test('a figure has the id that its site and its place give it', async () => {
  const lux = { table: 'spaces', row: 'office open', figure: 'targets/EN 12464-1:2021/lux' };
  const share = { table: 'bodies', row: 'recessed troffer · prismatic lens', figure: 'bars_share' };
  assert.equal(await figureId(SITE, lux), 'd3cd7055-62a9-5841-807b-f4432af2a623');
  assert.equal(await figureId(SITE, share), '4d2f8c0f-77e0-5961-a42d-3113fb10a4bf');
});
