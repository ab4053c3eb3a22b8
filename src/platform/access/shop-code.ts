import { createHash } from 'node:crypto';

/** What a shop's pages are addressed by: enough of a digest to tell shops apart, and no id. */
export const shopCode = (shopId: string): string => createHash('sha256').update(shopId).digest('hex').slice(0, 8);
