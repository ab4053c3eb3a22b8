/** Bearer keys: `fw_<public id>_<secret>`. Only a hash of the secret is stored. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import type { Request } from 'express';
import { takesPassword } from '../problems/problem.js';

export interface FreshKey {
  /** Shown once, to whoever asked for it. */
  text: string;
  publicId: string;
  secretHash: Buffer;
}

export function makeKey(): FreshKey {
  const publicId = randomBytes(6).toString('hex');
  const secret = randomBytes(24).toString('base64url');
  return { text: `fw_${publicId}_${secret}`, publicId, secretHash: hashSecret(secret) };
}

/** A secret holds 192 random bits, so a plain digest cannot be searched; a slow hash would only slow every request. */
export const hashSecret = (secret: string): Buffer => createHash('sha256').update(secret).digest();

/** @returns undefined when the text is not of a key's form */
export function readKey(text: string): { publicId: string; secret: string } | undefined {
  const match = /^fw_([0-9a-f]{12})_([A-Za-z0-9_-]{32})$/.exec(text);
  const [, publicId, secret] = match ?? [];
  return publicId && secret ? { publicId, secret } : undefined;
}

export function sameSecret(secret: string, secretHash: Uint8Array): boolean {
  const given = hashSecret(secret);
  return secretHash.length === given.length && timingSafeEqual(given, secretHash);
}

/** The key that a request carries: as a bearer token, or as the password of whatever user. */
export function keyIn(request: Request): string | undefined {
  const { authorization = '' } = request.headers;
  const bearer = /^Bearer ([\x21-\x7e]{1,200})$/i.exec(authorization)?.[1];
  if (bearer || !takesPassword(request)) return bearer;
  const basic = /^Basic ([A-Za-z0-9+/=]{1,600})$/i.exec(authorization)?.[1];
  return basic && /:([\x21-\x7e]{1,200})$/.exec(Buffer.from(basic, 'base64').toString('latin1'))?.[1];
}
