// Runs random histories against a server over HTTP; what it is told and what it found are JSON on standard input and output.

import { History } from './history.js';

/** @type {{base: string, phones: Array<{person: string, cookie: string}>, sites: string[], seed: number, steps: number, faults: boolean}} */
const told = JSON.parse(await new Response(process.stdin).text());

const withCookie = (cookie) => (address, request) =>
  fetch(address, { ...request, headers: { ...request.headers, Cookie: cookie, Origin: told.base } });

const found = [];
for (const [place, site] of told.sites.entries()) {
  const seed = told.seed + place;
  const people = told.phones.map(({ person, cookie }) => ({ person, fetch: withCookie(cookie) }));
  const history = new History({ seed, people, site, base: told.base, faults: told.faults });
  await history.run(told.steps);
  found.push({ seed, wrong: await history.wrong(), counts: history.counts, conflicts: await history.conflicts() });
}
console.log(JSON.stringify(found));
