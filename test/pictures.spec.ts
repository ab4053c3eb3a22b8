/** Pictures through both APIs: sent, told of, hidden where they tell prices, carried by a backup. */
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import request from 'supertest';
import { pictureKeys } from '../src/pictures/picture-files.js';
import { writeBackup } from '../src/platform/database/backup/backup.js';
import { restoreBackup } from '../src/platform/database/backup/restore.js';
import { folderStore } from '../src/platform/files/file-store.js';
import { createEmptyDatabase } from './harness/database.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let jpeg: Buffer;
let machineId: string;
let findingId: string;
let jobId: string;

beforeAll(async () => {
  shop = await startTestShop();
  jpeg = await sharp({ create: { width: 800, height: 600, channels: 3, background: '#963' } })
    .jpeg()
    .toBuffer();
  const post = async (path: string, body: Json): Promise<string> =>
    (await shop.rest('owner', 'post', path, body).expect(201)).body.id;
  const acquisitionId = await post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-14', price: '60.00' });
  machineId = await post('/machines', { acquisitionId, kind: 'other', maker: 'Norvane', model: 'Drift' });
  jobId = await post('/jobs', { machineId });
  const finding = { machineId, jobId, component: 'housing', observation: 'rust', verdict: 'repair' };
  findingId = await post('/findings', finding);
}, 60_000);
afterAll(() => shop.close());

const send = (
  role: 'owner' | 'helper' | 'reader',
  query: Record<string, string>,
  body: Buffer,
  key = `k${Math.random()}`,
) =>
  request(shop.app.getHttpServer())
    .post(`/v1/pictures/files?${new URLSearchParams(query)}`)
    .set('Authorization', `Bearer ${shop.keys[role]}`)
    .set('Idempotency-Key', key)
    .set('Content-Type', 'image/jpeg')
    .send(body);
const file = (role: 'owner' | 'helper', id: string, which: 'file' | 'thumbnail') =>
  shop.rest(role, 'get', `/pictures/${id}/${which}`).buffer(true);

describe('pictures', () => {
  it('are sent as a file, hang on a finding and with it on machine and job, and are fetched whole and small', async () => {
    const made = await send('helper', { findingId, moment: 'before', caption: 'Rust at the weld' }, jpeg, 'one').expect(
      201,
    );
    expect(made.body).toMatchObject({
      findingId,
      machineId,
      jobId,
      moment: 'before',
      width: 800,
      height: 600,
      version: 1,
    });
    const again = await send(
      'helper',
      { findingId, moment: 'before', caption: 'Rust at the weld' },
      jpeg,
      'one',
    ).expect(201);
    expect([again.body.id, again.headers['idempotency-replayed']]).toEqual([made.body.id, 'true']);
    const full = await file('helper', made.body.id, 'file').expect(200).expect('Content-Type', /jpeg/);
    expect(full.body).toHaveLength(made.body.bytes);
    const small = await file('owner', made.body.id, 'thumbnail').expect(200);
    expect(small.body.length).toBeLessThanOrEqual(10_240);
    const { data } = await shop.graphql(
      'reader',
      `{ machine(id: "${machineId}") { pictures { id caption } } job(id: "${jobId}") { pictures { id } } }`,
    );
    expect(data).toEqual({
      machine: { pictures: [{ id: made.body.id, caption: 'Rust at the weld' }] },
      job: { pictures: [{ id: made.body.id }] },
    });
  });

  it('are sent through GraphQL as base64, captioned, and taken away', async () => {
    const { data, errors } = await shop.graphql(
      'owner',
      'mutation ($input: CreatePictureInput!) { createPicture(input: $input) { id version } }',
      { input: { content: jpeg.toString('base64'), machineId } },
    );
    expect(errors).toBeUndefined();
    const { id } = data.createPicture;
    await shop
      .rest('owner', 'patch', `/pictures/${id}`, { caption: 'From the left', moment: 'after' }, { version: 1 })
      .expect(200);
    const list = await shop.rest('owner', 'get', `/pictures?machineId=${machineId}&moment=after`).expect(200);
    expect(list.body.items.map((one: Json) => one.caption)).toEqual(['From the left']);
    await shop.rest('owner', 'delete', `/pictures/${id}`, undefined, { version: 2 }).expect(200);
    expect((await shop.rest('owner', 'get', `/pictures?machineId=${machineId}`)).body.items).toHaveLength(1);
  });

  it('of receipts are none to who may not see prices', async () => {
    const { body } = await send('owner', { machineId, isReceipt: 'true' }, jpeg).expect(201);
    await file('owner', body.id, 'file').expect(200);
    await file('helper', body.id, 'file').expect(404);
    await file('helper', body.id, 'thumbnail').expect(404);
    await shop.rest('helper', 'get', `/pictures/${body.id}`).expect(404);
    const listed = await shop.rest('helper', 'get', `/pictures?machineId=${machineId}`).expect(200);
    expect(listed.body.items.map((one: Json) => one.id)).not.toContain(body.id);
    const { data } = await shop.graphql('helper', `{ machine(id: "${machineId}") { pictures { id } } }`);
    expect(data.machine.pictures.map((one: Json) => one.id)).not.toContain(body.id);
  });

  it('are refused with what to do: of nothing or of two things, of no picture, too large, by a reader', async () => {
    expect((await send('owner', {}, jpeg).expect(422)).body.detail).toBeDefined();
    await send('owner', { machineId, findingId }, jpeg).expect(422);
    expect((await send('owner', { machineId }, Buffer.from('hello, no picture')).expect(422)).body.detail).toMatch(
      /JPEG, PNG or WebP/,
    );
    await send('owner', { machineId }, Buffer.alloc(12 * 1024 * 1024 + 1, 1)).expect(413);
    await send('reader', { machineId }, jpeg).expect(403);
    await send('owner', { machineId: '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11' }, jpeg).expect(404);
    const { keys } = await shop.anotherShop();
    const own = (await shop.rest('owner', 'get', `/pictures?machineId=${machineId}`)).body.items[0].id;
    for (const which of ['file', 'thumbnail'])
      await request(shop.app.getHttpServer())
        .get(`/v1/pictures/${own}/${which}`)
        .set('Authorization', `Bearer ${keys.owner}`)
        .expect(404);
  });

  it('travel with a backup, file and all', async () => {
    const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-pictures-'));
    const backup = path.join(folder, 'shop.backup');
    const made = await writeBackup(shop.adminUrl, backup, new Date(), { store: shop.files, keys: pictureKeys });
    expect([made.files, made.missing]).toEqual([made.rows.Picture! * 2, []]);
    const { adminUrl, drop } = await createEmptyDatabase();
    const restored = folderStore(path.join(folder, 'restored'));
    const { files } = await restoreBackup(adminUrl, 'frostwright_service', backup, () => {}, { files: restored });
    expect(files).toBe(made.files);
    const { id } = (await shop.rest('owner', 'get', `/pictures?machineId=${machineId}`)).body.items[0];
    const key = `${shop.shopId}/${id}-thumbnail.jpg`;
    expect(await restored.get(key)).toEqual(await shop.files.get(key));
    // A file that is gone from the store is told of, and no backup fails for it.
    await shop.files.remove(key);
    const other = await writeBackup(shop.adminUrl, `${backup}2`, new Date(), { store: shop.files, keys: pictureKeys });
    expect(other.missing).toEqual([key]);
    await file('owner', id, 'thumbnail').expect(404);
    await drop();
    fs.rmSync(folder, { recursive: true, force: true });
  });

  it('leave the audit what was changed of them', async () => {
    const changes = await shop.within(({ tx }) =>
      tx.auditChange.findMany({ where: { record: 'Picture', field: 'caption' } }),
    );
    expect(changes.map(({ before, after }) => [before, after])).toContainEqual([null, 'From the left']);
  });
});
