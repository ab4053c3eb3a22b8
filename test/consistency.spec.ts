/** The checks of `npm run check`: a long random sequence of requests leaves nothing for them to find. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { safetyStatus } from '../src/diagnosis/diagnosis.queries.js';
import { Random } from '../src/engine/statistics/random.js';
import { expectConsistent } from './harness/consistent.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

jest.setTimeout(300_000);
let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop({ taxScheme: 'marginScheme', taxRatePercent: 20 });
});
afterAll(() => shop.close());

/** Sends a request that may be refused, but must be understood. @returns the reply, or null when it was refused */
async function attempt(verb: 'post' | 'patch' | 'delete', path: string, body: Json, version?: number): Promise<Json> {
  const reply = await shop.rest('owner', verb, path, body, version === undefined ? {} : { version });
  if (reply.status >= 500 || reply.status === 404 || reply.status === 400)
    throw new Error(`${verb} ${path}: ${reply.status} ${JSON.stringify(reply.body)}`);
  return reply.status < 300 ? reply.body : null;
}
const get = async (path: string): Promise<Json> => {
  const reply = await shop.rest('owner', 'get', path);
  if (reply.status !== 200) throw new Error(`${path}: ${reply.status}`);
  return reply.body;
};

describe('after a long random sequence of requests', () => {
  // Seeded: the same sequence each time.
  it.each([1])('the records agree with themselves (seed %i)', async (seed) => {
    const random = new Random(seed);
    const one = <T>(list: readonly T[]): T | undefined => list[random.below(Math.max(1, list.length))];
    const amount = (): string => (random.below(10_000) / 100).toFixed(2);
    const supplier = (await attempt('post', '/suppliers', { name: `Supplier ${seed}` })) as Json;
    const parts = [
      await makePart(shop, { name: `Belt ${seed}`, family: 'belt' }),
      await makePart(shop, { name: `Bolt ${seed}`, family: 'fastener' }),
    ];
    const { job, task } = await makeTask(shop, 'Fit');
    await shop.within(async (context) => {
      const { missing } = (await safetyStatus(context, [job.id])).get(job.id)!;
      await context.tx.safetyCheck.createMany({
        data: missing.map(({ code }) => ({
          shopId: shop.shopId,
          jobId: job.id,
          check: code,
          passed: true,
          checkedBy: 'Mira',
          checkedDate: new Date('2026-09-15'),
        })),
      });
    });
    const done: Record<string, number> = {};
    const steps: Record<string, () => Promise<Json>> = {
      buy: async () => {
        const lot = await attempt('post', '/acquisitions', {
          source: 'auction',
          acquiredDate: '2026-09-01',
          price: amount(),
          fees: amount(),
          splitMethod: 'equal',
        });
        for (let n = random.below(3); n >= 0; n -= 1)
          await attempt('post', '/machines', { kind: 'other', maker: 'Norvane', model: 'N-1', acquisitionId: lot.id });
        return lot;
      },
      changePrice: async () => {
        const lot = one((await get('/acquisitions')).items as Json[]);
        return lot && attempt('patch', `/acquisitions/${lot.id}`, { price: amount() }, lot.version);
      },
      need: () =>
        attempt('post', '/part-needs', { taskId: task.id, partId: one(parts)!.id, quantity: 1 + random.below(3) }),
      order: async () => {
        const open = ((await get('/part-needs')).items as Json[]).filter((need) => need.status === 'unordered');
        const part = one(parts)!;
        return attempt('post', '/orders', {
          supplierId: supplier.id,
          shippingCost: amount(),
          taxCost: amount(),
          lines: [
            {
              partId: part.id,
              quantity: 2 + random.below(4),
              unitPrice: amount(),
              coreCharge: '1.00',
              promisedDate: '2026-09-22',
              partNeedIds: open
                .filter((need) => need.partId === part.id && Number(need.quantity) < 2)
                .map(({ id }) => id),
            },
            { partId: one(parts)!.id, quantity: 1, unitPrice: amount() },
          ],
        });
      },
      receive: async () => {
        const line = one((await get('/order-lines')).items as Json[]);
        return (
          line &&
          attempt('post', `/order-lines/${line.id}/receipts`, {
            quantity: 1 + random.below(2),
            condition: random.next() < 0.8 ? 'good' : 'wrong',
            bin: `B${random.below(2)}`,
          })
        );
      },
      promise: async () => {
        const line = one((await get('/order-lines')).items as Json[]);
        return line && attempt('post', `/order-lines/${line.id}/promises`, { promisedDate: '2026-10-01' });
      },
      sendBack: async () => {
        const receipt = one((await get('/receipts')).items as Json[]);
        return (
          receipt &&
          attempt('post', `/receipts/${receipt.id}/returns`, {
            quantity: 1,
            supplierRefund: '0.50',
            replacementExpected: random.next() < 0.5,
          })
        );
      },
      core: async () => {
        const line = one((await get('/order-lines')).items as Json[]);
        return line && attempt('post', `/order-lines/${line.id}/core-returns`, { quantity: 1 });
      },
      ship: async () => {
        const order = one((await get('/orders')).items as Json[]);
        return order && attempt('patch', `/orders/${order.id}`, { shippingCost: amount() }, order.version);
      },
      use: async () => {
        const need = one(((await get('/part-needs')).items as Json[]).filter((one) => one.status === 'onHand'));
        return need && attempt('post', `/part-needs/${need.id}/use`, {}, need.version);
      },
      takeBack: async () => {
        const need = one(((await get('/part-needs')).items as Json[]).filter((one) => one.status === 'used'));
        return need && attempt('post', `/part-needs/${need.id}/return-to-stock`, {}, need.version);
      },
      count: async () => {
        const bin = one((await get('/stock')).items as Json[]);
        return (
          bin && attempt('post', `/stock/${bin.id}/count`, { quantity: random.below(6), note: 'counted' }, bin.version)
        );
      },
      sell: async () => attempt('post', '/sales', { jobId: job.id, price: '200.00', sellingCost: '5.00' }),
      refund: async () => {
        const sale = one((await get('/sales')).items as Json[]);
        return sale && attempt('post', `/customer-refunds`, { saleId: sale.id, amount: '10.00', reason: 'a rattle' });
      },
      reverseRefund: async () => {
        const refund = one((await get('/customer-refunds')).items as Json[]);
        return refund && attempt('post', `/customer-refunds/${refund.id}/reverse`, { reason: 'x' });
      },
      reverseSale: async () => {
        const sale = one((await get('/sales')).items as Json[]);
        return sale && attempt('post', `/sales/${sale.id}/reverse`, { reason: 'x' });
      },
    };
    const names = Object.keys(steps);
    // Each once in an order in which most succeed, then as chance has it.
    for (let n = 0; n < names.length + 30; n += 1) {
      const name = names[n] ?? one(names)!;
      if (await steps[name]!()) done[name] = (done[name] ?? 0) + 1;
    }
    // A sequence in which everything is refused would prove nothing.
    expect(Object.keys(done)).toEqual(
      expect.arrayContaining(['buy', 'changePrice', 'need', 'order', 'receive', 'sendBack', 'sell', 'refund']),
    );
    await expectConsistent(shop);
  });
});
