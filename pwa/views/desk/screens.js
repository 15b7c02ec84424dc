// The manager's screens by address.

import { Audit } from './audit.js';
import { Catalogue } from './catalogue.js';
import { CatalogueItem } from './catalogue_item.js';
import { NewItem } from './catalogue_new.js';
import { CatalogueVersion } from './catalogue_version.js';
import { Completeness } from './completeness.js';
import { Days } from './days.js';
import { DeleteSite } from './delete_site.js';
import { EmergencyTests } from './emergency_tests.js';
import { Figures } from './figures.js';
import { Files } from './files.js';
import { Fitted } from './fitted.js';
import { HandOver } from './handover.js';
import { Labels } from './labels.js';
import { Learning } from './learning.js';
import { Money } from './money.js';
import { NewSite } from './new_site.js';
import { Offer } from './offer.js';
import { Order, Orders } from './orders.js';
import { OwnRowPage } from './own_rows.js';
import { People } from './people.js';
import { Plan } from './plan.js';
import { PlanOrder } from './plan_order.js';
import { Problems } from './problems.js';
import { Proof } from './proof.js';
import { Recall } from './recall.js';
import { Releases } from './releases.js';
import { ScheduleScreen } from './schedule.js';
import { Settings } from './settings.js';
import { Upkeep } from './upkeep.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  { path: '/s/:site/desk', screen: Completeness },
  { path: '/s/:site/desk/plan', screen: Plan },
  { path: '/s/:site/desk/plan/order', screen: PlanOrder },
  { path: '/s/:site/desk/releases', screen: Releases },
  { path: '/s/:site/desk/offer', screen: Offer },
  { path: '/s/:site/desk/orders', screen: Orders },
  { path: '/s/:site/desk/orders/:order', screen: Order },
  { path: '/s/:site/desk/emergency', screen: EmergencyTests },
  { path: '/s/:site/desk/handover', screen: HandOver },
  { path: '/s/:site/desk/proof', screen: Proof },
  { path: '/s/:site/desk/recall', screen: Recall },
  { path: '/s/:site/desk/upkeep', screen: Upkeep },
  { path: '/s/:site/desk/days', screen: Days },
  { path: '/s/:site/desk/schedule', screen: ScheduleScreen },
  { path: '/s/:site/desk/problems', screen: Problems },
  { path: '/s/:site/desk/fitted', screen: Fitted },
  { path: '/s/:site/desk/figures', screen: Figures },
  { path: '/s/:site/desk/figures/row/new/:sort', screen: OwnRowPage },
  { path: '/s/:site/desk/figures/row/:id', screen: OwnRowPage },
  { path: '/s/:site/desk/catalogue', screen: Catalogue },
  { path: '/s/:site/desk/catalogue/version', screen: CatalogueVersion },
  { path: '/s/:site/desk/catalogue/new/:sort', screen: NewItem },
  { path: '/s/:site/desk/catalogue/item/:id', screen: CatalogueItem },
  { path: '/s/:site/desk/labels', screen: Labels },
  { path: '/s/:site/desk/files', screen: Files },
  { path: '/s/:site/desk/people', screen: People },
  { path: '/s/:site/desk/audit', screen: Audit },
  { path: '/s/:site/desk/money', screen: Money },
  { path: '/s/:site/desk/learning', screen: Learning },
  { path: '/s/:site/desk/settings', screen: Settings },
  { path: '/s/:site/desk/delete', screen: DeleteSite },
  { path: '/sites/new', screen: NewSite },
];
