/** What has changed, as a list and as a stream: in the order of the commits, and nothing missed on the way. */
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

interface Event {
  id: number;
  event: string;
  data: Json;
}

class Listener {
  readonly events: Event[] = [];
  status: number | undefined;
  ended = false;
  private readonly sent: http.ClientRequest;
  private text = '';

  constructor(key: string, lastEventId?: number) {
    const { port } = shop.app.getHttpServer().address() as AddressInfo;
    const headers = {
      Authorization: `Bearer ${key}`,
      ...(lastEventId === undefined ? {} : { 'Last-Event-ID': lastEventId }),
    };
    this.sent = http.get({ port, host: '127.0.0.1', path: '/v1/events', headers }, (response) => {
      this.status = response.statusCode;
      response.setEncoding('utf8').on('data', (part: string) => this.take(part));
      response.on('close', () => (this.ended = true));
    });
    this.sent.on('error', () => {});
  }

  hangUp(): void {
    this.sent.destroy();
  }

  async changes(count: number): Promise<Json[]> {
    for (let k = 0; k < 100 && this.of('change').length < count; k += 1) await pause(50);
    return this.of('change').map(({ data }) => data as Json);
  }

  async opened(): Promise<number> {
    for (let k = 0; k < 100 && this.of('open').length === 0; k += 1) await pause(20);
    return this.of('open')[0]!.id;
  }

  private of(event: string): Event[] {
    return this.events.filter((one) => one.event === event);
  }

  private take(part: string): void {
    this.text += part;
    const blocks = this.text.split('\n\n');
    this.text = blocks.pop()!;
    for (const block of blocks) {
      const field = (name: string) => new RegExp(`^${name}: (.*)$`, 'm').exec(block)?.[1];
      if (field('event'))
        this.events.push({ id: Number(field('id')), event: field('event')!, data: JSON.parse(field('data')!) });
    }
  }
}

const createPlace = async (name: string): Promise<string> =>
  (await shop.rest('owner', 'post', '/places', { name, kind: 'bench' }).expect(201)).body.id;

it('a stream tells what changes: which record, by which operation, and nothing of its contents', async () => {
  const listener = new Listener(shop.keys.helper);
  await listener.opened();
  const id = await createPlace('Told bench');
  await shop.rest('owner', 'patch', `/places/${id}`, { name: 'Told better' }, { version: 1 }).expect(200);
  const changes = await listener.changes(2);
  expect(changes).toEqual([
    { operation: 'createPlace', kind: 'Place', subjectId: id, at: expect.any(String) },
    { operation: 'changePlace', kind: 'Place', subjectId: id, at: expect.any(String) },
  ]);
  expect(JSON.stringify(listener.events)).not.toContain('Told');
  listener.hangUp();
});

it('a listener that comes back is told what it has missed, and another shop is told nothing', async () => {
  const first = new Listener(shop.keys.reader);
  const from = await first.opened();
  first.hangUp();
  const stranger = new Listener((await shop.anotherShop()).keys.owner);
  await stranger.opened();
  const ids = [];
  for (const name of ['A', 'B', 'C']) ids.push(await createPlace(`Missed ${name}`));
  const back = new Listener(shop.keys.reader, from);
  expect((await back.changes(3)).map((one) => one.subjectId)).toEqual(ids);
  const midway = new Listener(shop.keys.reader, back.events.at(-2)!.id);
  expect((await midway.changes(1)).map((one) => one.subjectId)).toEqual([ids[2]]);
  expect(await stranger.changes(0)).toEqual([]);
  for (const one of [back, midway, stranger]) one.hangUp();
});

it('nothing is missed when many are recorded at once', async () => {
  const listener = new Listener(shop.keys.owner);
  await listener.opened();
  const ids = await Promise.all(Array.from({ length: 40 }, (_, at) => createPlace(`Crowd ${at}`)));
  const changes = await listener.changes(40);
  expect(changes.map((one) => one.subjectId as string).sort()).toEqual([...ids].sort());
  const sequences = listener.events.map(({ id }) => id);
  expect(sequences).toEqual([...sequences].sort((a, b) => a - b));
  listener.hangUp();
});

it('a list tells the same, in both APIs', async () => {
  const start = (await shop.rest('reader', 'get', '/changes').expect(200)).body;
  expect(start).toEqual({ items: [], last: expect.any(Number), more: false });
  const ids = [await createPlace('Listed 1'), await createPlace('Listed 2')];
  const one = (await shop.rest('reader', 'get', `/changes?after=${start.last}&first=1`).expect(200)).body;
  expect(one).toMatchObject({ items: [{ operation: 'createPlace', kind: 'Place', subjectId: ids[0] }], more: true });
  const { data } = await shop.graphql(
    'helper',
    `{ changes(after: ${one.last}) { items { operation kind subjectId } more last } }`,
  );
  expect(data.changes).toEqual({
    items: [{ operation: 'createPlace', kind: 'Place', subjectId: ids[1] }],
    more: false,
    last: expect.any(Number),
  });
});

it('one key may listen twenty times at once', async () => {
  const listeners = Array.from({ length: 20 }, () => new Listener(shop.keys.owner));
  await Promise.all(listeners.map((one) => one.opened()));
  expect((await shop.rest('owner', 'get', '/events')).status).toBe(429);
  for (const one of listeners) one.hangUp();
  await pause(100);
  const again = new Listener(shop.keys.owner);
  expect(await again.opened()).toBeGreaterThan(0);
  again.hangUp();
});
