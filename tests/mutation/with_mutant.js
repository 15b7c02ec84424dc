// `node --import with_mutant.js …` with a mutant in SPANWALK_MUTANT ({path, source}): that file is loaded with the fault in it.
import { registerHooks } from 'node:module';
import { pathToFileURL } from 'node:url';

const { path, source } = JSON.parse(process.env.SPANWALK_MUTANT);
const faulty = pathToFileURL(path).href;
registerHooks({
  load: (url, context, next) =>
    url === faulty ? { format: 'module', source, shortCircuit: true } : next(url, context),
});
