/**
 * A device is signed in by a cookie that holds an access key of its own, made for it and good for nothing but pages. So it
 * has the rights of a role, the audit names it, and it is listed and revoked as any key.
 */
import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import type { Request, Response } from 'express';
import { hashSecret, makeKey, readKey, sameSecret } from '../../platform/access/keys.js';
import { shopCode } from '../../platform/access/shop-code.js';
import type { Database } from '../../platform/database/database.js';
import type { Role } from '../../platform/operation/operation.js';
import type { Device } from '../frame/view.js';

const YEAR_SECONDS = 365 * 24 * 3600;
const absent = hashSecret('no such device');

/** Cookies are shared by all ports of a host: the name tells services and shops apart. */
const cookieName = (request: Request, code: string) => `frostwright-${request.socket.localPort ?? 0}-${code}`;
const lastShopCookie = (request: Request) => `frostwright-${request.socket.localPort ?? 0}-last`;

function cookieOf(request: Request, name: string): string | undefined {
  for (const part of (request.headers.cookie ?? '').split(';')) {
    const at = part.indexOf('=');
    if (at > 0 && part.slice(0, at).trim() === name) return part.slice(at + 1).trim();
  }
  return undefined;
}

export interface Session {
  device: Device;
  /** Proves that a form was made for this device. */
  formSecret: Buffer;
}

interface DeviceRow {
  id: string;
  shopId: string;
  role: Role;
  name: string;
  personId: string | null;
  isDevice: boolean;
  secretHash: Uint8Array;
}

async function keyRow(database: Database, text: string): Promise<DeviceRow | undefined> {
  const key = readKey(text);
  if (!key) return undefined;
  const { rows } = await database.pool.query<DeviceRow>(
    'SELECT id, "shopId", role::text AS role, name, "personId", "isDevice", "secretHash" FROM find_access_key($1)',
    [key.publicId],
  );
  const same = sameSecret(key.secret, rows[0]?.secretHash ?? absent);
  return same ? rows[0] : undefined;
}

/** @returns whose device asks for a page of this shop; undefined when nobody is signed in to it */
export async function sessionOf(database: Database, request: Request, code: string): Promise<Session | undefined> {
  const text = cookieOf(request, cookieName(request, code));
  const row = text ? await keyRow(database, text) : undefined;
  if (!row || !row.isDevice || shopCode(row.shopId) !== code) return undefined;
  const { id, shopId, role, name, personId } = row;
  return { device: { id, shopId, role, name, personId }, formSecret: Buffer.from(row.secretHash) };
}

/** @returns who a typed key belongs to; a device's own key opens nothing here */
export async function ownerOfKey(database: Database, text: string): Promise<DeviceRow | undefined> {
  const row = await keyRow(database, text.trim());
  return row && !row.isDevice ? row : undefined;
}

export interface NewDevice {
  shopId: string;
  role: Role;
  name: string;
  personId: string | null;
}

/** Makes the device's key and hands it over in the cookie; it is shown nowhere. */
export async function signIn(
  database: Database,
  request: Request,
  response: Response,
  wanted: NewDevice,
): Promise<string> {
  const fresh = makeKey();
  await database.withShop(wanted.shopId, (tx) =>
    tx.accessKey.create({
      data: { ...wanted, isDevice: true, publicId: fresh.publicId, secretHash: new Uint8Array(fresh.secretHash) },
    }),
  );
  const code = shopCode(wanted.shopId);
  const common = `HttpOnly; SameSite=Strict; Max-Age=${YEAR_SECONDS}${request.secure ? '; Secure' : ''}`;
  response.append('Set-Cookie', `${cookieName(request, code)}=${fresh.text}; Path=/shop/${code}; ${common}`);
  // Only which shop was opened last, so that the bare address leads there.
  response.append('Set-Cookie', `${lastShopCookie(request)}=${code}; Path=/; ${common}`);
  return code;
}

export function forget(request: Request, response: Response, code: string): void {
  const common = 'HttpOnly; SameSite=Strict; Max-Age=0';
  response.append('Set-Cookie', `${cookieName(request, code)}=; Path=/shop/${code}; ${common}`);
  response.append('Set-Cookie', `${lastShopCookie(request)}=; Path=/; ${common}`);
}

export function lastShop(request: Request): string | undefined {
  const code = cookieOf(request, lastShopCookie(request));
  return code && /^[0-9a-f]{8}$/.test(code) ? code : undefined;
}

// --- forms ---

const proofOf = (session: Session): Buffer =>
  createHmac('sha256', session.formSecret).update(`form ${session.device.id}`).digest();

/** @param mask at least as long */
const xor = (bytes: Buffer, mask: Buffer): Buffer =>
  Buffer.from(bytes.map((byte, index) => byte ^ mask.readUInt8(index)));

/** Never the same text twice, so that a compressed page does not give it away. */
export function formToken(session: Session): string {
  const mask = randomBytes(32);
  return Buffer.concat([mask, xor(proofOf(session), mask)]).toString('base64url');
}

export function isFormToken(session: Session, text: string): boolean {
  const sent = Buffer.from(text, 'base64url');
  if (sent.length !== 64) return false;
  return timingSafeEqual(xor(sent.subarray(32), sent), proofOf(session));
}

/** A form's own page must be of this host: a browser says where a form was sent from. */
export function isOwnOrigin(request: Request): boolean {
  const site = request.headers['sec-fetch-site'];
  if (site !== undefined && site !== 'same-origin' && site !== 'none') return false;
  const { origin, host } = request.headers;
  if (origin === undefined) return true;
  return URL.canParse(origin) && new URL(origin).host === host;
}
