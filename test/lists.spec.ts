/** A list of fifty jobs with what hangs on them costs as many statements as a list of three. */
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { standardRoutes } from '../seed/routes.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let routeId: string;
let partId: string;
beforeAll(async () => {
  shop = await startTestShop();
  routeId = (await shop.rest('owner', 'post', '/routes', standardRoutes[0]!).expect(201)).body.id;
  partId = (await shop.rest('owner', 'post', '/parts', { name: 'Belt', family: 'belt' }).expect(201)).body.id;
});
afterAll(() => shop.close());

/** Written past the HTTP layer, since fifty jobs through it would only take longer. */
const addJobs = (count: number) =>
  shop.within(async (context) => {
    const { openJob } = await import('../src/work/open-job.js');
    const { addMachine } = await import('../src/machines/machines.operations.js');
    for (let index = 0; index < count; index += 1) {
      const machine = await addMachine(
        context,
        {
          kind: 'singleStageThrower',
          maker: 'Norvane',
          model: `Drift ${index}`,
          condition: 2,
          equipment: [],
          disposition: 'sell',
        },
        null,
      );
      const job = await openJob(context, { machineId: machine.id, routeId });
      const task = await context.tx.task.findFirstOrThrow({ where: { jobId: job.id, code: 'assemble' } });
      await context.tx.partNeed.create({ data: { shopId: context.shop.id, taskId: task.id, partId, quantity: 1 } });
      await context.tx.ledgerEntry.create({
        data: {
          shopId: context.shop.id,
          jobId: job.id,
          kind: 'consumable',
          amount: '5.00',
          occurredDate: new Date('2026-09-01'),
          description: 'Paint',
        },
      });
    }
  });

const query =
  `{ jobs(first: 45) { edges { node { number status machine { maker } tasks { code labour { ` +
  `minutes } partNeeds { status part { name } } } cost { cashCost } } } } }`;

it('constant in the number of jobs', async () => {
  await addJobs(3);
  const few = await shop.database.countStatements(() => shop.graphql('owner', query));
  expect(few.result.errors).toBeUndefined();
  expect(few.result.data.jobs.edges).toHaveLength(3);
  await addJobs(42);
  const many = await shop.database.countStatements(() => shop.graphql('owner', query));
  expect(many.result.errors).toBeUndefined();
  const jobs = many.result.data.jobs.edges.map((edge: Json) => edge.node);
  expect(jobs).toHaveLength(45);
  expect(
    jobs.every((job: Json) => job.tasks.length === standardRoutes[0]!.tasks.length && job.cost.cashCost === '5.00'),
  ).toBe(true);
  expect(jobs[44].tasks.flatMap((task: Json) => task.partNeeds).map((need: Json) => need.part.name)).toEqual(['Belt']);
  expect(many.statements.length).toBe(few.statements.length);
  // Those of a plan's records among them, since the cost to come goes on until the day of completion.
  expect(many.statements.length).toBeLessThan(105);
}, 120_000);
