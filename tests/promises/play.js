// Plays one scenario: `node play.js NAME`, what it is told on the first line of standard input, what came of it on the last line out.

import { nextLine, Stage } from './stage.js';

const told = await nextLine();
const stage = new Stage(told);
await stage.proxy.start();
const scenarios = await import('./scenarios.js');
const result = await scenarios[told.scenario](stage, told.arguments);
stage.proxy.stop();
process.stdout.write(`${JSON.stringify({ result })}\n`, () => process.exit(0));
