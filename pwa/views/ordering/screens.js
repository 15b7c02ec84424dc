// Screens of what is ordered, by address.

import { Receive, ReceiveOrder } from './receive.js';
import { StockScreen } from './stock.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  { path: '/s/:site/receive', screen: Receive },
  { path: '/s/:site/receive/:order', screen: ReceiveOrder },
  { path: '/s/:site/stock', screen: StockScreen },
];
