/** What a buyer is given: the paper with pictures behind a link that ends, as PDF and as calendar, and the advertisement. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import request from 'supertest';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { readPages } from './pdf-reading.js';

let shop: TestShop;
let jobId: string;
let machineId: string;
let whole: string;
let receipt: string;

const post = async (path: string, body: Json): Promise<Json> => {
  const reply = await shop.rest('owner', 'post', path, body);
  if (reply.status >= 300) throw new Error(`${path}: ${reply.status} ${JSON.stringify(reply.body)}`);
  return reply.body;
};
const open = (path: string) => request(shop.app.getHttpServer()).get(path).buffer(true);
const binary = (path: string) =>
  open(path).parse((response, done) => {
    const pieces: Buffer[] = [];
    response.on('data', (piece: Buffer) => pieces.push(piece));
    response.on('end', () => done(null, Buffer.concat(pieces)));
  });

beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '23.45' });
  const acquisition = await post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-14', price: '61.37' });
  const machine = { acquisitionId: acquisition.id, kind: 'singleStageThrower', maker: 'Norvane', model: '<Drift> *5*' };
  machineId = (await post('/machines', machine)).id;
  jobId = (await post('/jobs', { machineId })).id;
  await post('/findings', {
    machineId,
    jobId,
    component: 'Housing',
    observation: 'rust_at the weld',
    verdict: 'repair',
  });
  const task = {
    jobId,
    code: 'weld',
    name: 'Weld the housing',
    kind: 'repair',
    handsOnMinutes: 60,
    minMinutes: 40,
    maxMinutes: 90,
  };
  const taskId = (await post('/tasks', task)).id;
  const personId = (
    await post('/people', { name: 'Mira', weeklyHours: [{ weekday: 1, opens: '09:00', closes: '17:00' }] })
  ).id;
  const worked = { startedAt: '2026-09-14T09:00:00Z', endedAt: '2026-09-14T10:23:00Z' };
  await post('/labour-entries', { taskId, personId, ...worked });
  const picture = async (query: string, colour: string): Promise<string> => {
    const jpeg = await sharp({ create: { width: 900, height: 600, channels: 3, background: colour } })
      .jpeg()
      .toBuffer();
    const reply = await request(shop.app.getHttpServer())
      .post(`/v1/pictures/files?machineId=${machineId}${query}`)
      .set('Authorization', `Bearer ${shop.keys.owner}`)
      .set('Idempotency-Key', colour)
      .set('Content-Type', 'image/jpeg')
      .send(jpeg);
    return reply.body.id as string;
  };
  whole = await picture('&moment=before&caption=From the left', '#963');
  receipt = await picture('&isReceipt=true&caption=Receipt', '#fff');
}, 60_000);
afterAll(() => shop.close());

describe("the buyer's document", () => {
  it('opens behind its link with pictures and without any price, and says the same as the PDF', async () => {
    const { path, url, link } = await post(`/jobs/${jobId}/document-links`, { expiresDate: '2026-09-30' });
    expect([url, link.withHours]).toEqual([null, false]);
    const page = await open(path).expect(200).expect('Cache-Control', 'no-store').expect('X-Robots-Tag', 'noindex');
    expect(page.text).toContain('Norvane &lt;Drift&gt; *5*');
    expect(page.text).toContain('rust_at the weld');
    expect(page.text).toContain(`/picture/${whole}/small`);
    expect(page.text).not.toContain(receipt);
    for (const secret of ['61.37', '23.45', 'CAD']) expect(page.text).not.toContain(secret);
    await open(`${path}/picture/${whole}/whole`).expect(200).expect('Content-Type', /jpeg/);
    await open(`${path}/picture/${receipt}/whole`).expect(404);
    const { body: pdf } = await binary(`${path}/machine.pdf`).expect(200).expect('Content-Type', /pdf/);
    const text = readPages(pdf as Buffer)
      .map((one) => one.words)
      .join(' ');
    expect(text.replace(/\s+/g, ' ')).toContain('Norvane <Drift> *5*');
    expect(text).not.toContain('61.37');
    const { body: own } = await shop
      .rest('helper', 'get', `/jobs/${jobId}/document.pdf`)
      .buffer(true)
      .parse((response, done) => {
        const pieces: Buffer[] = [];
        response.on('data', (piece: Buffer) => pieces.push(piece));
        response.on('end', () => done(null, Buffer.concat(pieces)));
      })
      .expect(200);
    expect((own as Buffer).equals(pdf as Buffer)).toBe(true);
  });

  it('ends with its day, when it is withdrawn, and for whoever guesses', async () => {
    const { path, link } = await post(`/jobs/${jobId}/document-links`, { expiresDate: '2026-09-16' });
    await open(path).expect(200);
    const { now } = shop.clock;
    shop.clock.now = new Date('2026-09-17T05:00:00Z');
    await open(path).expect(410);
    await open(`${path}/machine.pdf`).expect(410);
    shop.clock.now = now;
    await open(path).expect(200);
    await shop.rest('helper', 'post', `/document-links/${link.id}/withdraw`, {}).expect(403);
    await post(`/document-links/${link.id}/withdraw`, {});
    await open(path).expect(410);
    await shop.rest('owner', 'post', `/document-links/${link.id}/withdraw`, {}).expect(409);
    const other = await post(`/jobs/${jobId}/document-links`, {});
    const token = (other.path as string).split('/').at(-1)!;
    for (const wrong of [
      `${token.slice(0, -1)}${token.endsWith('A') ? 'B' : 'A'}`,
      token.slice(4),
      'x',
      '%00',
      'A'.repeat(75),
    ])
      expect([400, 404, 410]).toContain((await open(`/document/${wrong}`)).status);
    await shop.rest('owner', 'post', `/jobs/${jobId}/document-links`, { expiresDate: '2026-09-01' }).expect(422);
    const listed = (await shop.rest('owner', 'get', `/document-links?jobId=${jobId}`).expect(200)).body.items;
    expect(listed).toHaveLength(3);
    expect(JSON.stringify(listed)).not.toContain(token.slice(-20));
  });

  it('has the seasonal maintenance as a calendar, in the half of the world where the shop is', async () => {
    const { path } = await post(`/jobs/${jobId}/document-links`, {});
    const { text } = await open(`${path}/maintenance.ics`)
      .expect(200)
      .expect('Content-Type', /calendar/);
    // The shop of the tests lies in the north and counts the season as over on 15 March.
    expect(text).toContain('DTSTART;VALUE=DATE:20261001');
    expect(text).toContain('DTSTART;VALUE=DATE:20270315');
    const point = (await shop.rest('owner', 'get', `/jobs/${jobId}/starting-point`).expect(200)).body;
    const dated = point.maintenance.filter((one: Json) => one.dueDate !== null);
    expect(text.match(/BEGIN:VEVENT/g)).toHaveLength(dated.length);
    await shop
      .rest(
        'owner',
        'patch',
        '/shop',
        { latitude: -41.3 },
        { version: (await shop.rest('owner', 'get', '/shop')).body.version },
      )
      .expect(200);
    const south = (await open(`${path}/maintenance.ics`).expect(200)).text;
    expect(south).toContain('DTSTART;VALUE=DATE:20270401');
    expect(south).not.toContain('20261001');
  });

  it('tells hours only where that is wanted', async () => {
    const hours = (withHours: string) => shop.rest('owner', 'get', `/jobs/${jobId}/starting-point${withHours}`);
    expect((await hours('')).body.labourMinutes).toBe(83);
    expect((await hours('')).body.text).not.toContain('Work in all');
    expect((await hours('?withHours=true')).body.text).toContain('Work in all: 1 h 23');
  });

  it('is advertised as found while checks are missing, with pictures of it and none of receipts', async () => {
    const { data } = await shop.graphql('reader', `{ listing(id: "${jobId}") { title text asFound pictureIds } }`);
    expect(data.listing).toMatchObject({ asFound: true, pictureIds: [whole] });
    expect(data.listing.title).toBe('Norvane <Drift> *5*, single-stage snow thrower, as found');
    expect(data.listing.text).toMatch(/Sold as found/);
    expect(data.listing.text).not.toMatch(/61\.37|CAD/);
  });
});
