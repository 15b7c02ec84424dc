// Screens of people by address: coming by a link, oneself, everybody of the firm.

import { FirmAudit } from '../desk/people/audit.js';
import { Enrol } from './enrol.js';
import { Firm } from './firm.js';
import { Join } from './join.js';
import { Me } from './me.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  { path: '/join', screen: Join },
  { path: '/reset', screen: Join },
  { path: '/enrol', screen: Enrol },
  { path: '/me', screen: Me },
  { path: '/people', screen: Firm },
  { path: '/people/audit', screen: FirmAudit },
];
