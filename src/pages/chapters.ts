/** All pages and acts there are. */
import type { Chapter } from './frame/page.js';
import { nowPage } from './now/now.page.js';
import { workActs } from './now/work-acts.js';

export const chapters: readonly Chapter[] = [{ pages: [nowPage], acts: workActs }];
