/** A link, or its picture as a QR code, that signs one device in: once, within ten minutes, after a press. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { z } from 'zod';
import type { Database } from '../../platform/database/database.js';
import type { Role } from '../../platform/operation/operation.js';
import { id, text } from '../../platform/shapes.js';
import { KeyRole } from '../../shop/shop.shapes.js';
import type { NewDevice } from './sessions.js';

export const LINK_MINUTES = 10;
export const SignInLinkWanted = z.strictObject({ name: text(80), role: KeyRole, personId: id.nullable() });
const digest = (secret: Buffer): Buffer => createHash('sha256').update(secret).digest();
const idBytes = (id: string): Buffer => Buffer.from(id.replaceAll('-', ''), 'hex');
const idText = (bytes: Buffer): string =>
  bytes.toString('hex').replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');

export interface LinkFor {
  role: Role;
  name: string;
  personId: string | null;
  createdById: string;
}

/** @returns the token that the link holds; only its hash is kept */
export async function makeSignInLink(database: Database, shopId: string, wanted: LinkFor, now: Date): Promise<string> {
  const secret = randomBytes(24);
  const row = await database.withShop(shopId, (tx) =>
    tx.signInLink.create({
      data: {
        shopId,
        ...wanted,
        secretHash: new Uint8Array(digest(secret)),
        expiresAt: new Date(now.getTime() + LINK_MINUTES * 60_000),
      },
    }),
  );
  return Buffer.concat([idBytes(shopId), idBytes(row.id), secret]).toString('base64url');
}

function read(token: string): { shopId: string; linkId: string; secret: Buffer } | undefined {
  const bytes = Buffer.from(token, 'base64url');
  if (bytes.length !== 56) return undefined;
  return { shopId: idText(bytes.subarray(0, 16)), linkId: idText(bytes.subarray(16, 32)), secret: bytes.subarray(32) };
}

/** @returns what the link gives, without using it; undefined when it gives nothing (any more) */
export async function lookAtLink(database: Database, token: string, now: Date): Promise<NewDevice | undefined> {
  const link = read(token);
  if (!link) return undefined;
  return database.withShop(link.shopId, async (tx) => {
    const row = await tx.signInLink.findFirst({ where: { id: link.linkId } });
    if (!row || row.usedAt || row.expiresAt <= now) return undefined;
    if (!timingSafeEqual(digest(link.secret), row.secretHash)) return undefined;
    return { shopId: link.shopId, role: row.role, name: row.name, personId: row.personId };
  });
}

/** Uses it up. @returns undefined when another press, or another device, was first */
export async function takeLink(database: Database, token: string, now: Date): Promise<NewDevice | undefined> {
  const given = await lookAtLink(database, token, now);
  const link = read(token);
  if (!given || !link) return undefined;
  const { count } = await database.withShop(given.shopId, (tx) =>
    tx.signInLink.updateMany({ where: { id: link.linkId, usedAt: null }, data: { usedAt: now } }),
  );
  return count === 1 ? given : undefined;
}
