// The id of a site's own figure, against Python's uuid.uuid5: so that whoever sets it, phone or program, means one record.
import assert from 'node:assert/strict';
import test from 'node:test';
import { figureId } from '../../pwa/views/desk/figures/figure_id.js';

const SITE = '0d3e6f10-7a52-4c1b-9c57-3b0a5d1f2e44';

test('a figure has the id that its site and its place give it', async () => {
  const lux = { table: 'spaces', row: 'office-open', figure: 'targets/en-12464-1-2021/lux' };
  const share = { table: 'bodies', row: 'recessed-troffer · prismatic-lens', figure: 'bars_share' };
  assert.equal(await figureId(SITE, lux), '3c7418b1-ccd2-50f4-a551-d586bb7c275c');
  assert.equal(await figureId(SITE, share), '57402961-1c71-51ad-9c80-a7aa279417b6');
});
