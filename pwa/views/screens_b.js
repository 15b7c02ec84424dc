// Screens of measuring and settling, by address.

import { Conflicts } from './syncing/conflicts.js';
import { OpenPoints, pointsOfSite } from './open_points.js';
import { ReadCavity } from './measuring/tape_pad.js';
import { TrialBar } from './measuring/trial_bar.js';
import { onceHere } from './parts/fetching.js';
import { DeletedSite } from './syncing/deleted_site.js';
import { ShutOutSite } from './syncing/shut_out_site.js';
import { Unsent } from './syncing/unsent.js';

export { pointsOfSite };

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  ...onceHere([
    { path: '/s/:site/group/:id/read', screen: ReadCavity },
    { path: '/s/:site/group/:id/trial', screen: TrialBar },
    { path: '/s/:site/open-points', screen: OpenPoints },
    { path: '/s/:site/conflicts', screen: Conflicts },
  ]),
  { path: '/s/:site/unsent', screen: Unsent },
  { path: '/s/:site/deleted', screen: DeletedSite },
  { path: '/s/:site/shut-out', screen: ShutOutSite },
];
