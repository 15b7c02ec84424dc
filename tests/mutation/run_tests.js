// Runs files of the page's own tests in this very process: `node run_tests.js FILE…`; exits 1 where one fails.
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

for (const file of process.argv.slice(2)) await import(pathToFileURL(resolve(file)).href);
