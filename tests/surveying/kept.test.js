// What is half typed is in the phone's database as well: a browser that is killed before it wrote its own copy finds it there.

import assert from 'node:assert/strict';
import { test } from 'node:test';

/** A browser's own store, as it was on the disk when the browser was killed. */
function browserWith(entries) {
  const disk = { ...entries };
  Object.setPrototypeOf(disk, {
    getItem: (key) => disk[key] ?? null,
    setItem: (key, text) => {
      disk[key] = text;
    },
    removeItem: (key) => {
      delete disk[key];
    },
  });
  globalThis.localStorage = disk;
  return disk;
}

/** A database, and the page's module as a page that is opened has it. */
let pages = 0;
const openedPage = () => import(`../../pwa/store/kept.js?page=${pages++}`);

function database() {
  const rows = new Map();
  return {
    rows,
    keepSmall: async (given) => given.forEach((row) => rows.set(row.name, row)),
    smallKept: async () => [...rows.values()].sort((a, b) => a.at - b.at),
  };
}

test('what the browser had not written when it was killed comes back as it was typed', async () => {
  const behind = database();
  browserWith({});
  const page = await openedPage();
  await page.keepBehind(behind);
  page.keep('form.me.site.size', '47 5/');
  await page.handOver();
  browserWith({}); // nothing of it had reached the disk
  const again = await openedPage();
  await again.keepBehind(behind);
  assert.equal(again.kept('form.me.site.size'), '47 5/');
});

test('what was saved meanwhile does not come back as half typed', async () => {
  const behind = database();
  const disk = browserWith({});
  const page = await openedPage();
  await page.keepBehind(behind);
  page.keep('form.me.site.size', '47');
  const asItWas = { ...disk };
  page.keep('form.me.site.size', undefined);
  await page.handOver();
  browserWith(asItWas); // the removal had not reached the disk
  const again = await openedPage();
  await again.keepBehind(behind);
  assert.equal(again.kept('form.me.site.size'), undefined);
});

test('what the browser has newer than the database stands', async () => {
  const behind = database();
  browserWith({});
  const page = await openedPage();
  await page.keepBehind(behind);
  page.keep('form.me.site.size', '47');
  await page.handOver();
  page.keep('form.me.site.size', '47 5/'); // loaded again before it was handed over
  const again = await openedPage();
  await again.keepBehind(behind);
  assert.equal(again.kept('form.me.site.size'), '47 5/');
  await page.handOver();
});

test('a phone on which nothing can be kept still works', async () => {
  globalThis.localStorage = {
    getItem: () => null,
    setItem: () => {
      throw new Error('full');
    },
    removeItem: () => {},
  };
  const page = await openedPage();
  await page.keepBehind(database());
  page.keep('form.me.site.size', '47');
  assert.equal(page.kept('form.me.site.size'), undefined);
});

test('what a page was left with before it could hand it over is in the database once the next one has opened', async () => {
  const behind = database();
  browserWith({});
  (await openedPage()).keep('form.me.site.size', '47 5/'); // its database never heard of it
  await (await openedPage()).keepBehind(behind);
  browserWith({}); // killed now
  const again = await openedPage();
  await again.keepBehind(behind);
  assert.equal(again.kept('form.me.site.size'), '47 5/');
});
