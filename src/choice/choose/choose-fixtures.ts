/** A small made-up shop to choose for: one person, eight hours a day, single-stage throwers that sell for about 400. */
import { Decimal } from 'decimal.js';
import type { PlanRecords } from '../../plan/inputs/records.js';
import { planRecords, planTask } from '../../plan/model/plan-fixtures.js';
import { scheduleOf } from '../../plan/model/scheduled-records.js';
import type { Market } from '../../resale/market.js';
import type { PricedMachine } from '../value/machine-value.js';
import type { ChooseQuestion } from './choice-search.js';

export const smallMarket: Market = {
  today: '2026-09-15',
  currency: 'CAD',
  tax: { kind: 'none' },
  comparables: [380, 400, 420, 390, 410, 405, 395, 400].map((price, k) => ({
    id: String(k),
    kind: 'singleStageThrower',
    maker: 'Norvane',
    model: 'Drift 21',
    yearEstimate: null,
    clearingWidthMillimetres: null,
    condition: 4,
    equipmentBalance: 0,
    priceKind: 'sold' as const,
    price: new Decimal(price),
    seenDate: '2026-08-01',
  })),
  listings: [],
  enquiryElasticity: 4,
  snowKinds: ['singleStageThrower', 'twoStageThrower'],
  firstSnows: ['2024-11-20', '2025-11-25', '2026-11-22'],
  seasonEndMonthDay: '03-31',
};

/** A machine whose repair takes so many hours and so much money, all of it known. */
export interface SmallMachine {
  id: string;
  hours: number;
  price?: number;
  cash?: number;
  condition?: number;
}

export const pricedMachine = ({ id, price = 0, cash = 0, condition = 4 }: SmallMachine): PricedMachine => ({
  jobId: id,
  traits: {
    kind: 'singleStageThrower',
    maker: 'Norvane',
    model: 'Drift 21',
    yearEstimate: null,
    clearingWidthMillimetres: null,
    equipmentBalance: 0,
    condition,
  },
  conditionNow: 2,
  terms: { tax: { kind: 'none' }, purchasePrice: new Decimal(price) },
  cash: { mean: cash, deviation: 0 },
  paintCost: 0,
  faults: [],
  outlay: price,
  fallback: null,
  partsWorth: 0,
  isFinished: false,
});

/** @param certain false: hours vary by half and as much again */
export function smallRecords(machines: readonly SmallMachine[], certain = true): PlanRecords {
  return planRecords({
    jobs: machines.map(({ id }, k) => ({
      id,
      number: k + 1,
      title: id,
      priority: -k,
      dueDate: null,
      forSnow: true,
    })),
    tasks: machines.map(({ id, hours }) =>
      planTask({
        id: `${id}/work`,
        jobId: id,
        handsOnMinutes: 60 * hours,
        minMinutes: certain ? 60 * hours : 30 * hours,
        maxMinutes: certain ? 60 * hours : 120 * hours,
      }),
    ),
    season: { marginDays: 14, firstSnowDates: ['2026-11-10', '2026-11-22', '2026-12-05', null], endDate: '2027-03-15' },
  });
}

export function smallQuestion(
  open: readonly SmallMachine[],
  candidates: readonly SmallMachine[],
  changes: Partial<ChooseQuestion> = {},
  certain = true,
): ChooseQuestion {
  const records = smallRecords([...open, ...candidates], certain);
  return {
    records,
    order: scheduleOf({ records, order: null }).order,
    machines: [...open, ...candidates].map(pricedMachine),
    candidateIds: candidates.map(({ id }) => id),
    promisedIds: [],
    market: smallMarket,
    spacePerDay: 0.5,
    hourlyValue: 20,
    seed: 1,
    futures: 300,
    sizes: { first: 12, race: 32, told: 64 },
    limits: { maxCash: null, maxMachines: null, maxFloorSpace: null },
    floorSpace: {},
    changesJobs: true,
    ...changes,
  };
}
