// Whether chance ever makes a label: symbols of random data, whole and doubtful, seen as ones of ours and as anybody's.
// node tests/bench/random_symbols.mjs [COUNT]

import { parseCode } from '../../pwa/rules/codes.js';
import { knownModules, knownWords, textIn } from '../../pwa/views/scanning/scan_worker_label.js';
import { expectedSymbol, layoutOf } from '../../pwa/views/scanning/scan_worker_symbol.js';

const count = Number(process.argv[2] ?? 3000);
let state = 29;
const chance = () => {
  state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
  return state / 2 ** 32;
};
const kinds = ['HTTPS://WALK.EXAMPLE.ORG/F/', ''].map((before) => {
  const expected = expectedSymbol(before, 9);
  const words = knownWords(expected);
  return { ...expected, words, modules: knownModules(expected, words) };
});
const told = { symbols: 0, texts: 0, ours: 0 };
for (let each = 0; each < count; each += 1)
  for (const kind of kinds) {
    const { side } = layoutOf(kind.version);
    // What is known fits wholly, what is not is chance, from sure to doubtful.
    const doubt = chance();
    const soft = Float32Array.from(
      { length: side * side },
      (_, place) => kind.modules[place] || (chance() < 0.5 ? -1 : 1) * (1 - doubt * chance()),
    );
    for (const known of [kind, null]) {
      const text = textIn(soft, kind.version, known);
      told.symbols += 1;
      told.texts += text !== null;
      told.ours += text !== null && !!parseCode(text).code;
    }
  }
process.stdout.write(`${JSON.stringify(told)}\n`);
