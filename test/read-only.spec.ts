import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
}, 120_000);
afterAll(() => shop.close());

it('a read cannot write, whatever its code tries: the database refuses', async () => {
  const person = { shopId: shop.shopId, name: 'Ines', weeklyHours: [] };
  await expect(
    shop.database.withShop(shop.shopId, (tx) => tx.person.create({ data: person }), { readOnly: true }),
  ).rejects.toThrow(/read-only transaction/);
  expect(await shop.within((context) => context.tx.person.count())).toBe(0);
  await shop.database.withShop(shop.shopId, (tx) => tx.person.create({ data: person }));
  expect(await shop.within((context) => context.tx.person.count())).toBe(1);
});
