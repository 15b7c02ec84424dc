// Load with `--import`: puts a fault into shipped modules as they are loaded, told by PLANT = [{file, from, to}].
// A text that is no longer there is an error: a planted fault that plants nothing shows nothing.

import { register } from 'node:module';

const plants = JSON.parse(process.env.PLANT ?? '[]');

const HOOKS = `
let plants = [];
export const initialize = (told) => { plants = told; };
export async function load(url, context, next) {
  const loaded = await next(url, context);
  const mine = plants.filter(({ file }) => url.endsWith('/' + file));
  if (mine.length === 0) return loaded;
  let source = Buffer.from(loaded.source).toString();
  for (const { file, from, to } of mine) {
    if (source.split(from).length !== 2) throw new Error('not once in ' + file + ': ' + from);
    source = source.replace(from, () => to);
  }
  return { ...loaded, source };
}`;

if (plants.length > 0) register(`data:text/javascript,${encodeURIComponent(HOOKS)}`, { data: plants });
