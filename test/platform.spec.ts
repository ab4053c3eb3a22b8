import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const acquisition = { source: 'classified', acquiredOn: '2026-09-01', price: '85.00', haulKilometres: 30, seller: 'A neighbour' };

describe('one operation, both transports', () => {
  it('creates, reads, lists, changes and retires over REST', async () => {
    const made = await shop.rest('owner', 'post', '/acquisitions', acquisition).expect(201);
    expect(made.body).toMatchObject({ price: '85.00', haulCost: '12.00', splitMethod: 'byValue', version: 1 });
    expect(made.headers.location).toBe(`/v1/acquisitions/${made.body.id}`);
    const read = await shop.rest('reader', 'get', `/acquisitions/${made.body.id}`).expect(200);
    expect(read.body).toEqual(made.body);
    const changed = await shop.rest('owner', 'patch', `/acquisitions/${made.body.id}`, { seller: 'An estate' }, { version: read.headers.etag! }).expect(200);
    expect(changed.body).toMatchObject({ seller: 'An estate', version: 2, price: '85.00' });
    const list = await shop.rest('owner', 'get', '/acquisitions?source=classified').expect(200);
    expect(list.body.items).toHaveLength(1);
    await shop.rest('owner', 'delete', `/acquisitions/${made.body.id}`, undefined, { version: 2 }).expect(200);
    expect((await shop.rest('owner', 'get', '/acquisitions')).body.items).toHaveLength(0);
    expect((await shop.rest('owner', 'get', '/acquisitions?includeRetired=true')).body.items).toHaveLength(1);
  });

  it('does the same over GraphQL', async () => {
    const made = await shop.graphql('owner', 'mutation ($input: CreateAcquisitionInput!) { createAcquisition(input: $input) { id price version machines { id } } }', { input: acquisition });
    expect(made.errors).toBeUndefined();
    expect(made.data.createAcquisition).toMatchObject({ price: '85.00', version: 1, machines: [] });
    const list = await shop.graphql('owner', '{ acquisitions(first: 10) { edges { cursor node { id seller } } pageInfo { hasNextPage endCursor } } }');
    expect(list.data.acquisitions.edges).toHaveLength(1);
    expect(list.data.acquisitions.pageInfo.hasNextPage).toBe(false);
  });
});
