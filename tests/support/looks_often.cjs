// Loaded before Playwright's driver (`playwright_driver.py`): what waits for the page looks at it each tenth of a second.
//
// By itself the driver looks at once, after 20, 50, 100 and 100 ms, and from then on each half second: of what takes longer
// a test hears a quarter of a second late on average, and meanwhile its processor has nothing to do.

const Module = require('node:module');

const BY_ITSELF = 'const backoffScale = [20, 50, 100, 100, 500];';
const OFTEN = 'const backoffScale = [20, 50, 100, 100];';
const compile = Module.prototype._compile;

Module.prototype._compile = function (content, filename, ...rest) {
  const driver = filename.endsWith('coreBundle.js');
  return compile.call(this, driver ? content.replace(BY_ITSELF, OFTEN) : content, filename, ...rest);
};
