/** The shop's calendar, read as RFC 5545 says it is to be read: https://www.rfc-editor.org/rfc/rfc5545 */
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { calendarText } from '../src/platform/icalendar.js';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let job: Json, line: Json, finished: Json;
const post = async (path: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(201)).body;

beforeAll(async () => {
  shop = await startTestShop();
  await post('/people', { name: 'Mira', weeklyHours: [] });
  const machine = await post('/machines', {
    kind: 'singleStageThrower',
    maker: 'Hallgrim',
    model: 'Meadow; "21", größer als alle anderen Maschinen im Hof',
  });
  job = await post('/jobs', { machineId: machine.id, promisedDate: '2026-10-02' });
  // Tuesday 15 September, nine in the morning: ten hours are done on Wednesday.
  const task = await post('/tasks', {
    jobId: job.id,
    code: 'build',
    name: 'Build',
    kind: 'assemble',
    handsOnMinutes: 600,
    minMinutes: 600,
    maxMinutes: 600,
    pausable: true,
  });
  finished = await post('/jobs', {
    machineId: (await post('/machines', { kind: 'other', maker: 'Norvane', model: 'Till 5' })).id,
  });
  const supplier = await post('/suppliers', { name: 'Tarn' });
  const part = await post('/parts', { name: 'Bolt', family: 'bolt' });
  const order = await post('/orders', {
    supplierId: supplier.id,
    lines: [{ partId: part.id, quantity: 6, unitPrice: '0.85', promisedDate: '2026-09-30' }],
  });
  line = order.lines[0];
  await post(`/order-lines/${line.id}/receipts`, { quantity: 4, bin: 'A1' });
  expect(task.id).toBeTruthy();
  const station = await post('/stations', { name: 'Lake Fennow', latitude: 45.4, longitude: -75.7 });
  // Thirty winters: no snow but on 1 December.
  const days: Json[] = [];
  for (let year = 1996; year < 2026; year += 1) {
    for (let at = Date.UTC(year, 8, 1); at < Date.UTC(year + 1, 3, 1) && at < TEST_NOW.getTime(); at += 86_400_000) {
      const day = new Date(at).toISOString().slice(0, 10);
      days.push({ day, snowfallMillimetres: day.endsWith('12-01') ? 100 : 0, lowCelsius: -2, highCelsius: 4 });
    }
  }
  for (let at = 0; at < days.length; at += 1000)
    await shop
      .rest(
        'owner',
        'post',
        `/stations/${station.id}/days`,
        { days: days.slice(at, at + 1000) },
        { idempotencyKey: null },
      )
      .expect(200);
}, 60_000);
afterAll(() => shop.close());

/** Content lines unfolded (3.1), each as its name, parameters and value (3.3.11 undone). */
function read(text: string): { name: string; parameters: string; value: string }[] {
  expect(text.endsWith('\r\n')).toBe(true);
  for (const line of text.split('\r\n')) {
    expect(line).not.toMatch(/[\r\n]/);
    expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
  }
  return text
    .slice(0, -2)
    .replaceAll('\r\n ', '')
    .split('\r\n')
    .map((line) => {
      const [, name, parameters, value] = /^([A-Z-]+)((?:;[A-Z-]+=[^:;]+)*):(.*)$/.exec(line) as unknown as [
        string,
        string,
        string,
        string,
      ];
      return { name, parameters, value: value.replace(/\\(.)/g, (_, one: string) => (one === 'n' ? '\n' : one)) };
    });
}

function eventsOf(text: string): Record<string, string>[] {
  const lines = read(text);
  expect([lines[0], lines.at(-1)].map((line) => `${line!.name}:${line!.value}`)).toEqual([
    'BEGIN:VCALENDAR',
    'END:VCALENDAR',
  ]);
  const events: Record<string, string>[] = [];
  for (const { name, parameters, value } of lines) {
    if (name === 'BEGIN' && value === 'VEVENT') events.push({});
    else if (events.length > 0 && name !== 'END') {
      // Each of these may stand in an event once (3.6.1).
      expect(events.at(-1)).not.toHaveProperty(name);
      events.at(-1)![name] = value;
      if (name.startsWith('DT') && name !== 'DTSTAMP') expect(parameters).toBe(';VALUE=DATE');
    }
  }
  return events;
}

const feed = (auth: string) =>
  shop.rest('reader', 'get', '/calendar.ics', undefined, { headers: { Authorization: auth } });
const basic = (key: string, user = 'calendar') => `Basic ${Buffer.from(`${user}:${key}`).toString('base64')}`;

it('has the days that matter, as all-day events', async () => {
  const reply = await feed(`Bearer ${shop.keys.helper}`).expect(200);
  expect(reply.headers['content-type']).toBe('text/calendar; charset=utf-8');
  const head = Object.fromEntries(
    read(reply.text)
      .slice(1, 9)
      .map(({ name, value }) => [name, value]),
  );
  expect(head).toMatchObject({ VERSION: '2.0', PRODID: expect.any(String), 'X-WR-CALNAME': 'Test shop' });
  const events = eventsOf(reply.text);
  const days = Object.fromEntries(events.map((event) => [event.UID, event.DTSTART]));
  const arrival = (await shop.rest('owner', 'get', `/order-lines/${line.id}/arrival`).expect(200)).body;
  const day = (text: string) => text.replaceAll('-', '');
  expect(days).toEqual({
    [`job-${job.id}-done@frostwright`]: '20260916',
    [`job-${job.id}-promised@frostwright`]: '20261002',
    [`line-${line.id}-promised@frostwright`]: '20260930',
    [`line-${line.id}-arrives@frostwright`]: day(arrival.p80Date),
    // The shop's margin is 14 days.
    [`season-ready-${shop.shopId}@frostwright`]: '20261117',
    [`season-snow-${shop.shopId}@frostwright`]: '20261201',
  });
  expect(events.map((event) => event.DTSTART)).toEqual(events.map((event) => event.DTSTART).sort());
  const done = events.find((event) => event.UID!.endsWith('done@frostwright'))!;
  expect(done).toMatchObject({ DTSTAMP: '20260915T130000Z', DTEND: '20260917', TRANSP: 'TRANSPARENT' });
  expect(done.SUMMARY).toBe(`Job ${job.number}, Hallgrim Meadow; "21", größer als alle anderen Maschinen im Hof: done`);
  expect(events.find((event) => event.UID!.startsWith(`line-${line.id}-promised`))!.SUMMARY).toBe(
    'Promised: 2 × Bolt from Tarn',
  );
  expect(reply.text).not.toContain('0.85');
  expect(reply.text).not.toContain(finished.id);
});

it('opens to a key sent as a password, since calendar programs know nothing else; and nothing else does', async () => {
  const first = await feed(basic(shop.keys.reader)).expect(200);
  expect(eventsOf(first.text)).toHaveLength(6);
  // The same events under the same names, and nothing sent again that has not changed.
  await shop
    .rest('reader', 'get', '/calendar.ics', undefined, { headers: { 'If-None-Match': first.headers.etag! } })
    .expect(304);
  for (const auth of [
    '',
    basic(`${shop.keys.reader.slice(0, -1)}!`),
    basic('nonsense'),
    'Basic ???',
    `Basic ${Buffer.from(shop.keys.reader).toString('base64')}`,
  ]) {
    const refused = await feed(auth);
    expect([auth, refused.status, refused.headers['www-authenticate']]).toEqual([
      auth,
      401,
      'Basic realm="frostwright"',
    ]);
  }
  const elsewhere = await shop.rest('reader', 'get', '/jobs', undefined, {
    headers: { Authorization: basic(shop.keys.reader) },
  });
  expect([elsewhere.status, elsewhere.headers['www-authenticate']]).toEqual([401, 'Bearer realm="frostwright"']);
  const writing = await shop.rest(
    'owner',
    'post',
    '/people',
    { name: 'Eve', weeklyHours: [] },
    { headers: { Authorization: basic(shop.keys.owner) } },
  );
  expect(writing.status).toBe(401);
});

it("holds another shop's days in no case", async () => {
  const other = await shop.anotherShop();
  const reply = await feed(`Bearer ${other.keys.owner}`).expect(200);
  expect(eventsOf(reply.text)).toEqual([]);
});

it('folds at 75 octets and escapes, whatever the words are', () => {
  const words = [
    '',
    'a,b;c\\d\ne\r\nf',
    'ü'.repeat(200),
    '🛠'.repeat(90),
    'x'.repeat(75 - 'SUMMARY:'.length),
    'x'.repeat(76 - 'SUMMARY:'.length),
    '\\'.repeat(100),
  ];
  const text = calendarText({
    name: 'n',
    description: 'd',
    stampedAt: TEST_NOW,
    days: words.map((summary, index) => ({ uid: String(index), day: '2028-02-29', summary, description: summary })),
  });
  const events = eventsOf(text);
  expect(events.map((event) => event.SUMMARY)).toEqual(words.map((one) => one.replaceAll('\r\n', '\n')));
  // A leap year's last of February ends on the first of March.
  expect(events[0]).toMatchObject({ DTSTART: '20280229', DTEND: '20280301' });
  expect(text).toContain(`\r\nSUMMARY:${words[4]}\r\n`);
  expect(text).toContain(`\r\nSUMMARY:${words[5]!.slice(1)}\r\n x\r\n`);
});
