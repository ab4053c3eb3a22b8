/** How pages and what they load leave the house. */
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Request, Response } from 'express';
import { projectRoot } from '../../platform/launch/root.js';
import { stylesheet } from './stylesheet.js';

/** Nothing from outside the machine, nothing inline, in no frame. */
const policy = [
  "default-src 'none'",
  "style-src 'self'",
  "script-src 'self'",
  "img-src 'self' data:",
  "connect-src 'self'",
  "worker-src 'self'",
  "form-action 'self'",
  "base-uri 'none'",
  "frame-ancestors 'none'",
].join('; ');

export function guard(response: Response): void {
  response.setHeader('Content-Security-Policy', policy);
  response.setHeader('Referrer-Policy', 'same-origin');
  response.setHeader('X-Content-Type-Options', 'nosniff');
  response.setHeader('Permissions-Policy', 'geolocation=(), microphone=(), interest-cohort=()');
}

const takesGzip = (request: Request): boolean => /\bgzip\b/.test(String(request.headers['accept-encoding']));

export interface SentPage {
  status?: number;
  /** Kept nowhere: it shows prices or a secret. */
  kept?: boolean;
}

export function sendPage(request: Request, response: Response, page: unknown, { status = 200, kept }: SentPage): void {
  guard(response);
  const text = `<!doctype html>\n${String(page)}`;
  response.status(status).type('html');
  response.setHeader('Cache-Control', kept ? 'private, no-cache' : 'no-store');
  response.setHeader('Vary', 'Cookie, Accept-Encoding');
  if (takesGzip(request)) {
    response.setHeader('Content-Encoding', 'gzip');
    response.end(gzipSync(text));
  } else response.end(text);
}

// --- what every page loads ---

interface Asset {
  type: string;
  plain: Buffer;
  small: Buffer;
}

const icon =
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" rx="7" ` +
  `fill="#14504b"/><path d="M9 24V8h14M9 16h10" fill="none" stroke="#f7f4ec" stroke-width="4"/></svg>`;

function asset(type: string, text: string): Asset {
  const plain = Buffer.from(text);
  return { type, plain, small: gzipSync(plain, { level: 9 }) };
}

function compiled(name: string): string {
  const file = path.join(projectRoot, '.build/src/pages/client', name);
  return fs.readFileSync(file, 'utf8').replace(/\n\/\/# sourceMappingURL=.*\s*$/, '\n');
}

let made: { mark: string; files: Map<string, Asset>; worker: Asset } | undefined;
function assets() {
  if (made) return made;
  const script = compiled('page.js');
  const worker = compiled('worker.js');
  const mark = createHash('sha256').update(stylesheet).update(script).update(worker).digest('hex').slice(0, 10);
  made = {
    mark,
    files: new Map([
      [`${mark}.css`, asset('text/css', stylesheet.replace(/\s*\n\s*/g, '\n'))],
      [`${mark}.js`, asset('text/javascript', script)],
      [`${mark}.svg`, asset('image/svg+xml', icon)],
    ]),
    worker: asset('text/javascript', worker.replaceAll('ASSETS', mark)),
  };
  return made;
}

/** Part of the assets' names: a new version is a new name, so that they may be kept for ever. */
export const assetMark = (): string => assets().mark;

export function sendAsset(request: Request, response: Response, name: string): boolean {
  const found = assets().files.get(name);
  if (!found) return false;
  send(request, response, found, 'public, max-age=31536000, immutable');
  return true;
}

export const sendWorker = (request: Request, response: Response): void =>
  send(request, response, assets().worker, 'no-cache');

function send(request: Request, response: Response, { type, plain, small }: Asset, caching: string): void {
  guard(response);
  response.type(type);
  response.setHeader('Cache-Control', caching);
  response.setHeader('Vary', 'Accept-Encoding');
  const packed = takesGzip(request);
  if (packed) response.setHeader('Content-Encoding', 'gzip');
  response.end(packed ? small : plain);
}
