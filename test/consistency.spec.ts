/** The checks of `npm run check`: long random sequences of requests leave nothing for them to find, and each finds its own. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { checks } from '../src/consistency/checks.js';
import { findInconsistencies } from '../src/consistency/find-inconsistencies.js';
import { Random } from '../src/engine/schedule/random.js';
import { asOwner } from '../src/platform/database/open.js';
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
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;

describe('after a long random sequence of requests', () => {
  // Seeded: the same sequence each time.
  it.each([1, 2])('the records agree with themselves (seed %i)', async (seed) => {
    const random = new Random(seed);
    const one = <T>(list: readonly T[]): T | undefined => list[random.below(Math.max(1, list.length))];
    const amount = (): string => (random.below(10_000) / 100).toFixed(2);
    const supplier = (await attempt('post', '/suppliers', { name: `Supplier ${seed}` })) as Json;
    const parts = [
      await makePart(shop, { name: `Belt ${seed}`, family: 'belt' }),
      await makePart(shop, { name: `Bolt ${seed}`, family: 'fastener' }),
    ];
    const { job, task } = await makeTask(shop, 'Fit');
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
        return bin && attempt('post', `/stock/${bin.id}/count`, { quantity: random.below(6) }, bin.version);
      },
      sell: async () => attempt('post', '/sales', { jobId: job.id, price: '200.00', sellingCost: '5.00' }),
      refund: async () => {
        const sale = one((await get('/sales')).items as Json[]);
        return sale && attempt('post', `/sales/${sale.id}/refunds`, { amount: '10.00', reason: 'a rattle' });
      },
      reverseRefund: async () => {
        const refund = one((await get('/refunds')).items as Json[]);
        return refund && attempt('post', `/refunds/${refund.id}/reversal`, { reason: 'x' });
      },
      reverseSale: async () => {
        const sale = one((await get('/sales')).items as Json[]);
        return sale && attempt('post', `/sales/${sale.id}/reverse`, { reason: 'x' });
      },
    };
    const names = Object.keys(steps);
    for (let n = 0; n < 60; n += 1) {
      const name = one(names)!;
      if (await steps[name]!()) done[name] = (done[name] ?? 0) + 1;
    }
    // A sequence in which everything is refused would prove nothing.
    expect(Object.keys(done).length).toBeGreaterThan(9);
    await expectConsistent(shop);
  });
});

describe('a check', () => {
  it('finds what it is for, and says it in words', async () => {
    // Written past the rules, as a fault of the service would.
    const spoil: Record<string, string> = {
      'stock-quantity': `update "Stock" set quantity = quantity + 1`,
      'line-received': `update "OrderLine" set "quantityReceived" = "quantityReceived" + 0.5`,
      'order-shares': `update "Order" set "shippingCost" = "shippingCost" + 1`,
      'machine-shares': `update "Machine" set "acquisitionShare" = "acquisitionShare" + 1`,
      'harvest-beyond-share': `insert into "Harvest" (id, "shopId", "machineId", "harvestedDate", "basisMoved") select gen_random_uuid(), "shopId", id, now(), "acquisitionShare" + 1 from "Machine"`,
      'refund-total': `update "Sale" set "customerRefundTotal" = "customerRefundTotal" + 1`,
      'sale-booked': `update "Sale" set price = price + 1`,
      'refund-booked': `update "CustomerRefund" set amount = amount + 1`,
      'unused-part-charged': `update "PartNeed" set "usedDate" = null`,
      'charged-twice': `insert into "LedgerEntry" (id, "shopId", "jobId", kind, amount, "occurredDate", description, "partNeedId") select gen_random_uuid(), "shopId", "jobId", kind, 1, "occurredDate", '', "partNeedId" from "LedgerEntry" e, generate_series(1, 2) where e."partNeedId" is not null`,
      'archived-coat-charged': `with coat as (insert into "Coat" (id, "shopId", "jobId", "productId", surface, "coatNumber", "appliedAt", "archivedAt", "updatedAt") select gen_random_uuid(), "shopId", id, id, '', 1, now(), now(), now() from "Job" limit 1 returning *) insert into "LedgerEntry" (id, "shopId", "jobId", kind, amount, "occurredDate", description, "coatId") select gen_random_uuid(), "shopId", "jobId", 'consumable', 1, now(), '', id from coat`,
      'job-finished': `update "Job" set "finishedDate" = now(), "closedDate" = null, outcome = null`,
      'promise-sequence': `update "Promise" set sequence = sequence + 1`,
    };
    expect(Object.keys(spoil).sort()).toEqual(checks.map(({ code }) => code).sort());
    const found = await asOwner(
      shop.adminUrl,
      () => {},
      async (pool) => {
        const codes: Record<string, number> = {};
        for (const [code, sql] of Object.entries(spoil)) {
          const client = await pool.connect();
          try {
            await client.query(`begin; set local session_replication_role = replica;`);
            await client.query(sql);
            await client.query(`set local app.shop_id = '${shop.shopId}'`);
            codes[code] = (await client.query(checks.find((one) => one.code === code)!.sql)).rows.length;
          } finally {
            await client.query('rollback');
            client.release();
          }
        }
        return codes;
      },
    );
    for (const { code } of checks) expect([code, found[code]! > 0]).toEqual([code, true]);
    expect(await shop.database.withShop(shop.shopId, findInconsistencies)).toEqual([]);
  });
});
