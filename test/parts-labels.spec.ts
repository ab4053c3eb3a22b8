/** Labels for bins and bags: what they say, and that the printed sheet says it too, in words and in its codes. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { areas } from '../src/app.module.js';
import { shopCode } from '../src/platform/access/shop-code.js';
import { openApiOf } from '../src/platform/rest/openapi.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';
import { decodeCode, readPages } from './pdf-reading.js';

const PUBLIC_URL = 'http://192.168.1.20:3000';
jest.setTimeout(60_000);
let shop: TestShop;
let base: string;
let bolts: Json, gears: Json, job: Json, need: Json;
beforeAll(async () => {
  shop = await startTestShop();
  shop.appContext.publicUrl = PUBLIC_URL;
  base = `${PUBLIC_URL}/shop/${shopCode(shop.shopId)}/thing`;
  const bolt = await makePart(shop, { name: 'Chute bolt, zinc', family: 'fastener' });
  const gear = await makePart(shop, { name: 'Impeller gear for the Łódź pattern', family: 'gear' });
  bolts = (
    await shop
      .rest('owner', 'post', '/stock', { partId: bolt.id, bin: 'A-12', quantity: 24, unitCost: '0.35' })
      .expect(201)
  ).body;
  gears = (
    await shop
      .rest('owner', 'post', '/stock', { partId: gear.id, bin: 'C-3', quantity: 1, condition: 'worn, still good' })
      .expect(201)
  ).body;
  const made = await makeTask(shop, 'Fit the chute');
  job = made.job;
  need = (
    await shop
      .rest('owner', 'post', '/part-needs', { taskId: made.task.id, partId: bolt.id, quantity: 4, stockId: bolts.id })
      .expect(201)
  ).body.need;
});
afterAll(() => shop.close());

const sheet = async (path: string, role: 'owner' | 'helper' | 'reader' = 'helper'): Promise<Buffer> => {
  const { body, headers } = await shop
    .rest(role, 'get', path)
    .buffer(true)
    .parse((response, done) => {
      const pieces: Buffer[] = [];
      response.on('data', (piece: Buffer) => pieces.push(piece));
      response.on('end', () => done(null, Buffer.concat(pieces)));
    })
    .expect(200);
  expect(headers['content-type']).toBe('application/pdf');
  return body as Buffer;
};
/** The codes of a page: each begins with the seven dark modules of its first finder pattern. */
const codesOf = (rectangles: number[][], count: number): string[] => {
  // Codes are drawn one after the other; a code's rectangles lie within its own label's square.
  const codes: number[][][] = [];
  for (const one of rectangles) {
    const current = codes.at(-1);
    const unit = current ? current[0]![2]! / 7 : 0;
    const [x, y] = [one[0]!, one[1]!];
    const inside =
      current &&
      x > current[0]![0]! - unit &&
      x < current[0]![0]! + 46 * unit &&
      y > current[0]![1]! - unit &&
      y < current[0]![1]! + 46 * unit;
    if (inside) current.push(one);
    else codes.push([one]);
  }
  expect(codes).toHaveLength(count);
  return codes.map((code) => decodeCode(code));
};

describe('labels', () => {
  it('of bins say the part, the bin, how many, and for which job, over both transports', async () => {
    const { labels } = (await shop.rest('reader', 'get', `/stock/labels?ids=${bolts.id},${gears.id}`).expect(200)).body;
    expect(labels).toEqual([
      {
        kind: 'stock',
        urn: `urn:frostwright:stock:${bolts.id}`,
        path: `/shop/${shopCode(shop.shopId)}/thing/stock/${bolts.id}`,
        title: 'Chute bolt, zinc',
        bin: 'A-12',
        quantity: 24,
        jobNumbers: [job.number],
        note: null,
      },
      {
        kind: 'stock',
        urn: `urn:frostwright:stock:${gears.id}`,
        path: `/shop/${shopCode(shop.shopId)}/thing/stock/${gears.id}`,
        title: 'Impeller gear for the Łódź pattern',
        bin: 'C-3',
        quantity: 1,
        jobNumbers: [],
        note: 'worn, still good',
      },
    ]);
    const { data, errors } = await shop.graphql(
      'helper',
      'query ($ids: [ID!]!, $job: ID!) { stockLabels(ids: $ids) { labels { urn title } } ' +
        'jobLabels(id: $job) { labels { kind urn path title bin quantity jobNumbers note } } }',
      { ids: [gears.id], job: job.id },
    );
    expect(errors).toBeUndefined();
    expect(data.stockLabels.labels).toEqual([
      { urn: `urn:frostwright:stock:${gears.id}`, title: 'Impeller gear for the Łódź pattern' },
    ]);
    expect(data.jobLabels.labels).toEqual([
      {
        kind: 'job',
        urn: `urn:frostwright:job:${job.id}`,
        path: `/shop/${shopCode(shop.shopId)}/thing/job/${job.id}`,
        title: job.title,
        bin: null,
        quantity: null,
        jobNumbers: [job.number],
        note: 'Norvane N-21',
      },
      {
        kind: 'partNeed',
        urn: `urn:frostwright:part-need:${need.id}`,
        path: `/shop/${shopCode(shop.shopId)}/thing/part-need/${need.id}`,
        title: 'Chute bolt, zinc',
        bin: 'A-12',
        quantity: 4,
        jobNumbers: [job.number],
        note: 'Fit the chute',
      },
    ]);
  });

  it('are printed: the words stand on the page, and each code opens the thing it is on', async () => {
    const pdf = await sheet(`/stock/labels.pdf?ids=${bolts.id},${gears.id}`);
    const pages = readPages(pdf);
    expect(pages).toHaveLength(1);
    expect(pdf.toString('latin1')).toMatch(/\/MediaBox \[0 0 595\.28 841\.89\]/);
    const words = pages[0]!.words.replaceAll('\n', ' ');
    for (const word of [
      'Chute bolt, zinc',
      'Bin A-12',
      'Quantity 24',
      `Job ${job.number}`,
      'Bin C-3',
      'worn, still good',
      bolts.id.slice(-12),
    ])
      expect(words).toContain(word);
    // Letters beyond the Western ones are there as they are written.
    expect(words).toMatch(/the Łódź/);
    expect(codesOf(pages[0]!.rectangles, 2)).toEqual([`${base}/stock/${bolts.id}`, `${base}/stock/${gears.id}`]);
  });

  it('of a job are those of its bags, on letter paper if asked for', async () => {
    const pdf = await sheet(`/jobs/${job.id}/labels.pdf?paper=letter`, 'owner');
    expect(pdf.toString('latin1')).toMatch(/\/MediaBox \[0 0 612 792\]/);
    const [page] = readPages(pdf);
    expect(page!.words).toContain('Quantity 4');
    expect(codesOf(page!.rectangles, 2)).toEqual([`${base}/job/${job.id}`, `${base}/part-need/${need.id}`]);
  });

  it('carry no code where no public address is set, for none could be opened', async () => {
    shop.appContext.publicUrl = null;
    const [page] = readPages(await sheet(`/stock/labels.pdf?ids=${bolts.id}`));
    shop.appContext.publicUrl = PUBLIC_URL;
    expect(page!.rectangles).toEqual([]);
    expect(page!.words).toContain('Bin A-12');
  });

  it('go on to a second page after 24', async () => {
    const pages = readPages(
      await sheet(`/stock/labels.pdf?ids=${Array.from({ length: 25 }, () => bolts.id).join(',')}`),
    );
    expect(pages).toHaveLength(2);
    expect(codesOf(pages[0]!.rectangles, 24)).toHaveLength(24);
    expect(codesOf(pages[1]!.rectangles, 1)).toEqual([`${base}/stock/${bolts.id}`]);
  });

  it("are refused for what is not there, another shop's, other paper, and without a key", async () => {
    await shop.rest('owner', 'get', `/stock/labels.pdf?ids=${job.id}`).expect(404);
    await shop.rest('owner', 'get', `/stock/labels.pdf?ids=${bolts.id}&paper=a5`).expect(422);
    await shop.rest('owner', 'get', '/stock/labels.pdf').expect(422);
    await shop.rest('owner', 'get', `/jobs/${bolts.id}/labels.pdf`).expect(404);
    const theirs = await shop.anotherShop();
    await shop
      .rest('owner', 'get', `/stock/labels.pdf?ids=${bolts.id}`, undefined, {
        headers: { Authorization: `Bearer ${theirs.keys.owner}` },
      })
      .expect(404);
    await shop
      .rest('owner', 'get', `/stock/labels.pdf?ids=${bolts.id}`, undefined, { headers: { Authorization: '' } })
      .expect(401);
  });

  it('stand in the OpenAPI document', () => {
    const { paths } = openApiOf(areas, 'test') as Json;
    expect(paths['/v1/stock/labels.pdf'].get.responses[200].content).toHaveProperty(['application/pdf']);
    expect(paths['/v1/jobs/{id}/labels.pdf'].get.parameters.map((one: Json) => one.name)).toEqual(['id', 'paper']);
  });
});
