/**
 * What is true of simulated shops: the shape of the file that `--world` takes. Every figure is judgement; the descriptions
 * are the file's documentation.
 */
import { readFileSync } from 'node:fs';
import { z } from 'zod';

const share = z.number().min(0).max(1);
const deviation = z.number().min(0).max(2);
const monthDay = z.string().regex(/^\d{2}-\d{2}$/);

const Supplier = z
  .strictObject({
    medianDays: z.number().positive().describe('Median days from order to delivery.'),
    logSd: deviation.describe('Standard deviation of the logarithm of the days.'),
    tailProbability: share.describe('Probability that the time is multiplied by 3 to 9, uniform.'),
  })
  .describe(
    'First promise 0.9 × median × exp(0.15 n); 60 % of late lines get a second one within −3 to +2 days of arrival.',
  );

const Shop = z.strictObject({
  count: z.int().min(1).describe('How many shops, unless --shops says otherwise.'),
  futures: z.int().min(1).describe('How many futures of each, unless --futures says otherwise.'),
  openMachines: z.tuple([z.int().min(1), z.int().min(1)]).describe('Open jobs, from and to, uniform.'),
  kinds: z.record(z.string(), share).describe('Shares of the kinds of machine; each needs a standard route.'),
  startDates: z
    .array(monthDay)
    .min(1)
    .describe('Days of the year on which the plan is made, one after another by shop.'),
  latitude: z.number().min(-65).max(65),
  weatherYears: z.int().min(5).max(60).describe("Years in the shop's own weather record."),
  pastOrders: z.int().min(0).describe('Order lines received in the past.'),
  waitsForAPart: share.describe('Share of the open machines that wait for a part.'),
  historyMachinesASeason: z.int().min(0).describe('Machines finished in a season of history.'),
  people: z
    .array(z.int().min(1).max(4))
    .min(1)
    .default([1, 2])
    .describe('How many people work there, one entry after another by shop; from the second on three days a week.'),
  routeTasksDone: share.default(0).describe('Share of the open machines whose first task, the washing, is done.'),
});

const World = z.strictObject({
  world: z.string().min(1).describe('Its name.'),
  hoursLogSd: deviation.describe("Log-normal hours around the route's likely minutes, a task by itself."),
  hoursBias: z.number().positive().default(1).describe("Hours of all tasks over the route's."),
  kindLogSd: deviation.default(0).describe('A kind of task is slow or quick as a whole, in this shop, for good.'),
  machineLogSd: deviation.default(0).describe('A machine is hard or easy as a whole.'),
  seasonLogSd: deviation.default(0).describe('A season is slow or quick as a whole.'),
  absenceProbability: share.default(0).describe('Probability a person-day that a spell of 1 to 5 working days begins.'),
  foundShare: share.default(0).describe('Share of strips that find work.'),
  foundMinutes: z.tuple([z.number().positive(), z.number().positive()]).default([60, 240]).describe('Uniform.'),
  foundPartShare: share.default(0).describe('Share of the found work that needs a part, ordered that day.'),
  cureClock: z
    .boolean()
    .default(false)
    .describe(
      'Paint cures by equivalent age on an unheated rack: to assembly a week at 23 °C, besides the days on the rack that the route states.',
    ),
  recoatByAge: z.boolean().default(false).describe('Recoat windows open and close by equivalent age too.'),
  rateDoublingCelsius: z.number().positive().default(10).describe('Drying doubles in speed every so many °C.'),
  warmerCelsius: z.number().min(-10).max(10).default(0).describe('Fresh years differ from the record by so much.'),
});
export type World = z.infer<typeof World>;

export const WorldFile = z.strictObject({
  description: z.string().optional(),
  shop: Shop,
  suppliers: z.array(Supplier).min(1),
  worlds: z.array(World).min(1),
});
export type WorldFile = z.infer<typeof WorldFile>;

/** @throws Error naming the file and what is wrong in it */
export function readWorldFile(path: string): WorldFile {
  let content: unknown;
  try {
    content = JSON.parse(readFileSync(path, 'utf8'));
  } catch (error) {
    throw new Error(`${path} cannot be read as JSON: ${(error as Error).message}`, { cause: error });
  }
  const read = WorldFile.safeParse(content);
  if (!read.success) throw new Error(`${path}: ${z.prettifyError(read.error)}`);
  return read.data;
}
