/** All pages and acts there are. */
import { findPage } from './find/find.page.js';
import { labelFiles } from './find/labels.js';
import { thingPage } from './find/thing.page.js';
import type { Chapter } from './frame/page.js';
import { documentActs, documentFiles } from './machine/document-links.js';
import { foundPage, partPage } from './machine/found.page.js';
import { machinePage } from './machine/machine.page.js';
import { machineActs } from './machine/machine-acts.js';
import { machinesPage } from './machine/machines.page.js';
import { papersPage } from './machine/papers.page.js';
import { scopePage, workPage } from './machine/scope.page.js';
import { scopeActs } from './machine/scope-acts.js';
import { missingPage } from './missing/missing.page.js';
import { missingActs } from './missing/missing-acts.js';
import { orderPage } from './missing/order.page.js';
import { otherwisePage } from './missing/otherwise.page.js';
import { newActs, newPage } from './new/new.page.js';
import { nowPage } from './now/now.page.js';
import { workActs } from './now/work-acts.js';
import { coatPage } from './paint/coat.page.js';
import { paintPage } from './paint/paint.page.js';
import { paintActs } from './paint/paint-acts.js';
import { pictureActs, pictureFiles, picturePage } from './pictures/picture.page.js';
import { shopPage } from './shop/shop.page.js';
import { shopActs } from './shop/shop-acts.js';
import { snowPage } from './snow/snow.page.js';
import { bidPage } from './worth/bid.page.js';
import { businessPage } from './worth/business.page.js';
import { pricePage } from './worth/price.page.js';
import { worthPage } from './worth/worth.page.js';
import { worthActs } from './worth/worth-acts.js';

export const chapters: readonly Chapter[] = [
  { pages: [nowPage], acts: workActs },
  {
    pages: [machinesPage, foundPage, partPage, papersPage, workPage, scopePage, machinePage],
    files: documentFiles,
    acts: [...machineActs, ...scopeActs, ...documentActs],
  },
  { pages: [newPage], acts: newActs },
  { pages: [missingPage, orderPage, otherwisePage], acts: missingActs },
  { pages: [paintPage, coatPage], acts: paintActs },
  // What to pay before a machine by its number.
  { pages: [worthPage, bidPage, businessPage, pricePage], acts: worthActs },
  { pages: [snowPage], acts: [] },
  { pages: [findPage, thingPage], files: labelFiles, acts: [] },
  { pages: [picturePage], files: pictureFiles, acts: pictureActs },
  { pages: [shopPage], acts: shopActs },
];
