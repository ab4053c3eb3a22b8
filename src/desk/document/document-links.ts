/** The token of a link: the shop, the link, and a secret whose digest alone is kept. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import type { AppContext } from '../../platform/operation/execute.js';
import { dayIn } from '../../platform/operation/execute.js';

const idBytes = (id: string): Buffer => Buffer.from(id.replaceAll('-', ''), 'hex');
const idText = (bytes: Buffer): string =>
  bytes.toString('hex').replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
const digest = (secret: Buffer): Buffer => createHash('sha256').update(secret).digest();

export interface NewToken {
  secretHash: Uint8Array<ArrayBuffer>;
  tokenFor(shopId: string, linkId: string): string;
}

export function newToken(): NewToken {
  const secret = randomBytes(24);
  return {
    secretHash: new Uint8Array(digest(secret)),
    tokenFor: (shopId, linkId) => Buffer.concat([idBytes(shopId), idBytes(linkId), secret]).toString('base64url'),
  };
}

export interface OpenedLink {
  shopId: string;
  jobId: string;
  withHours: boolean;
}

/** @returns undefined when the link opens nothing, or nothing any more */
export async function openLink(appContext: AppContext, token: string): Promise<OpenedLink | undefined> {
  const bytes = Buffer.from(token, 'base64url');
  if (bytes.length !== 56 || bytes.toString('base64url') !== token) return undefined;
  const shopId = idText(bytes.subarray(0, 16));
  const now = appContext.clock();
  return appContext.database.withShop(shopId, async (tx) => {
    const link = await tx.documentLink.findFirst({
      where: { id: idText(bytes.subarray(16, 32)) },
      include: { shop: { select: { timeZone: true } } },
    });
    if (!link || link.withdrawnAt || !timingSafeEqual(digest(bytes.subarray(32)), link.secretHash)) return undefined;
    const expires = link.expiresDate?.toISOString().slice(0, 10);
    if (expires !== undefined && expires < dayIn(now, link.shop.timeZone)) return undefined;
    return { shopId, jobId: link.jobId, withHours: link.withHours };
  });
}
