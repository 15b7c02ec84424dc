// The crew's screens by address.

import { onceHere } from '../parts/fetching.js';
import { ChooseFixture } from './choose.js';
import { FittedNow, ReportFailure } from './fitted_now.js';
import { FixtureForRole } from './fixture.js';
import { Label } from '../scanning/label.js';
import { LabelAddress } from '../scanning/label_address.js';
import { LightOfRoom } from './light_reading.js';
import { readySoon } from '../scanning/reader.js';
import { Scan } from '../scanning/scan.js';
import { Work } from './work.js';

/** A crew looks at something else: what a tap on 'Scan' needs is made meanwhile. */
export const scanIsNear = readySoon;

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  { path: '/s/:site/scan', screen: Scan },
  ...onceHere([
    { path: '/s/:site/work', screen: Work },
    { path: '/s/:site/choose', screen: ChooseFixture },
    { path: '/s/:site/light/:room', screen: LightOfRoom },
    { path: '/s/:site/fixture/:group/:position', screen: FixtureForRole },
    { path: '/s/:site/fixture/:group/:position/now', screen: FittedNow },
    { path: '/s/:site/fixture/:group/:position/failure', screen: ReportFailure },
    { path: '/s/:site/label/:code', screen: Label },
  ]),
  { path: '/F/:code', screen: LabelAddress },
  { path: '/f/:code', screen: LabelAddress },
];
