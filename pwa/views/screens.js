// The first screens by address: what one sees before a site is opened.

import { NotFound } from './not_found.js';
import { SignIn } from './sign_in.js';
import { Sites } from './sites.js';

export { NotFound };

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  { path: '/', screen: Sites },
  { path: '/sign-in', screen: SignIn },
];
