/** What unpacking a kit, or needing its parts one by one, answers with. */
import { z } from 'zod';
import { CompletionEffect } from '../platform/completion/completion-effects.shapes.js';
import { shape } from '../platform/shapes.js';
import { PartNeed, Stock } from '../stock/stock.shapes.js';

const effects = z.array(CompletionEffect);
export const KitUnpacked = shape(
  'KitUnpacked',
  { stock: Stock, parts: z.array(Stock), needs: z.array(PartNeed), effects },
  'What is left of the kits in their bin, the bins of the parts, and the needs that were for the kits.',
);
export const KitNeedExpanded = shape(
  'KitNeedExpanded',
  { needs: z.array(PartNeed), effects },
  "The needs for a kit's parts that stand in place of the need for the kit.",
);
