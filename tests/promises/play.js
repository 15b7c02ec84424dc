// Plays one scenario: `node play.js NAME`, what it is told on the first line of standard input, what came of it on the last line out.

import { nextLine, Stage, say } from './stage.js';

const told = await nextLine();
const stage = new Stage(told);
await stage.proxy.start();
const scenarios = await import('./scenarios.js');
say({ result: await scenarios[told.scenario](stage, told.arguments) });
stage.proxy.stop();
process.exit(0);
