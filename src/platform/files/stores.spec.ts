import { createHash, createHmac } from 'node:crypto';
import fs from 'node:fs';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type FileStore, folderStore } from './file-store.js';
import { s3Store } from './s3-store.js';

const access = { region: 'eu-north-1', accessKeyId: 'an-id', secretAccessKey: 'a-secret' };
const kept = new Map<string, Buffer>();
let answering: number | undefined;

/** Signature Version 4 as its public description has it (from memory), written apart from the library that signs. */
function signatureOf(request: http.IncomingMessage, payloadHash: string): string {
  const { headers } = request;
  const [, credential, signed] = /Credential=([^,]+), SignedHeaders=([^,]+)/.exec(headers.authorization ?? '') ?? [];
  const [, date, region, service] = (credential ?? '').split('/');
  const names = (signed ?? '').split(';');
  const canonical = [
    request.method,
    request.url,
    '',
    ...names.map((name) => `${name}:${String(headers[name]).trim()}`),
    '',
    signed,
    payloadHash,
  ].join('\n');
  const hmac = (key: string | Buffer, text: string) => createHmac('sha256', key).update(text).digest();
  const scope = `${date}/${region}/${service}/aws4_request`;
  const text = `AWS4-HMAC-SHA256\n${headers['x-amz-date']}\n${scope}\n${createHash('sha256').update(canonical).digest('hex')}`;
  const key = [date, region, service, 'aws4_request'].reduce<string | Buffer>(
    (made, part) => hmac(made, String(part)),
    `AWS4${access.secretAccessKey}`,
  );
  return hmac(key, text).toString('hex');
}

const bucket = http.createServer((request, response) => {
  const parts: Buffer[] = [];
  request.on('data', (part: Buffer) => parts.push(part));
  request.on('end', () => {
    const body = Buffer.concat(parts);
    const answer = (status: number, content?: Buffer) => void response.writeHead(status).end(content);
    if (answering) return answer(answering);
    const payload = String(request.headers['x-amz-content-sha256']);
    if (!request.headers.authorization?.endsWith(`Signature=${signatureOf(request, payload)}`)) return answer(403);
    const key = request.url ?? '';
    if (request.method === 'PUT') kept.set(key, body);
    if (request.method === 'DELETE') kept.delete(key);
    const content = kept.get(key);
    if (request.method === 'GET') return content ? answer(200, content) : answer(404);
    return answer(request.method === 'DELETE' ? 204 : 200);
  });
});

let folder: string;
let endpoint: string;
beforeAll(async () => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-store-'));
  await new Promise<void>((resolve) => bucket.listen(0, '127.0.0.1', resolve));
  endpoint = `http://127.0.0.1:${(bucket.address() as AddressInfo).port}`;
});
afterAll(async () => {
  fs.rmSync(folder, { recursive: true, force: true });
  bucket.closeAllConnections();
  await new Promise((resolve) => bucket.close(resolve));
});

const content = Buffer.from([0, 255, 10, 13, 65]);
const stores: [string, () => FileStore][] = [
  ['a folder', () => folderStore(folder)],
  ['a bucket, with requests signed as it asks', () => s3Store({ ...access, endpoint, bucket: 'pictures' })],
];

describe.each(stores)('files in %s', (_where, open) => {
  it('come back as they were put, are replaced and removed', async () => {
    const store = open();
    await store.put('shop-1/one.jpg', content, 'image/jpeg');
    expect(await store.get('shop-1/one.jpg')).toEqual(content);
    await store.put('shop-1/one.jpg', Buffer.from('other'), 'image/jpeg');
    expect(String(await store.get('shop-1/one.jpg'))).toBe('other');
    await store.remove('shop-1/one.jpg');
    await store.remove('shop-1/one.jpg');
    expect(await store.get('shop-1/one.jpg')).toBeUndefined();
  });

  it.each(['../escaped', 'a/../../escaped', '/etc/passwd', 'a//b', 'A/b', 'a/..', 'a\\b', ''])(
    'have no key such as %j',
    async (key) => {
      await expect(async () => open().get(key)).rejects.toThrow('No key of a file');
    },
  );
});

describe('a bucket that cannot be used', () => {
  it('is told as away when it faults, and as refusing when the secret is wrong', async () => {
    answering = 503;
    const store = s3Store({ ...access, endpoint, bucket: 'pictures' });
    await expect(store.get('a/b')).rejects.toThrow('does not answer');
    answering = undefined;
    const wrong = s3Store({ ...access, secretAccessKey: 'another', endpoint, bucket: 'pictures' });
    await expect(wrong.get('a/b')).rejects.toThrow('refused GET with status 403');
    const nowhere = s3Store({ ...access, endpoint: 'http://127.0.0.1:1', bucket: 'pictures' });
    await expect(nowhere.get('a/b')).rejects.toThrow('does not answer');
  }, 30_000);
});

describe('a folder', () => {
  it('holds nothing half-written, readable by its owner alone', async () => {
    await folderStore(folder).put('shop-2/one.jpg', content, 'image/jpeg');
    expect(fs.readdirSync(path.join(folder, 'shop-2'))).toEqual(['one.jpg']);
    expect(fs.statSync(path.join(folder, 'shop-2/one.jpg')).mode & 0o777).toBe(0o600);
  });
});
