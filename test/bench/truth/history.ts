/** What a shop has on record of its past: hours, sickness and found work of some seasons, and orders that came. */
import { Dice } from './dice.js';
import { deliveryDays, firstPromise, routeTasks, type SimShop } from './shop.js';
import type { World, WorldFile } from './world.js';

export interface PastHours {
  taskKind: string;
  machineId: string;
  season: string;
  minutes: number;
  routeMinutes: number;
}

export interface PastOrder {
  supplier: number;
  orderedDaysAgo: number;
  receivedDaysAgo: number;
  promises: { statedDaysAgo: number; promisedInDays: number }[];
}

export interface PastSeasons {
  hours: PastHours[];
  absence: { personDays: number; spellDays: number[] };
  strips: { minutes: number; neededPart: boolean }[];
}

/** What is always so of one shop: which kinds of task take it longer. */
export function kindLuck(world: World, seed: number, shop: number): (kind: string) => number {
  const known = new Map<string, number>();
  return (kind) => {
    let value = known.get(kind);
    if (value === undefined) {
      const letters = [...kind].reduce((sum, letter) => (sum * 31 + letter.charCodeAt(0)) % 1_000_003, 7);
      value = world.kindLogSd * new Dice(seed, 12, shop, letters).normal();
      known.set(kind, value);
    }
    return value;
  };
}

/** @param variant one of several pasts that the same shop could have had */
export function makeHistory(
  { file, world, seed }: { file: WorldFile; world: World; seed: number },
  shop: SimShop,
  seasons: number,
  variant: number,
): PastSeasons {
  const dice = new Dice(seed, 21, shop.number, variant);
  const byKind = kindLuck(world, seed, shop.number);
  const kinds = Object.keys(file.shop.kinds);
  const past: PastSeasons = { hours: [], absence: { personDays: 0, spellDays: [] }, strips: [] };
  for (let back = 1; back <= seasons; back += 1) {
    const season = String(Number(shop.today.slice(0, 4)) - back);
    const luck = world.seasonLogSd * dice.normal();
    for (let m = 0; m < file.shop.historyMachinesASeason; m += 1) {
      const machineId = `past ${season}/${m}`;
      const machine = world.machineLogSd * dice.normal();
      for (const task of routeTasks(dice.pick(kinds), machineId)) {
        if (task.likely === 0) continue;
        const log = byKind(task.kind) + luck + machine + world.hoursLogSd * dice.normal();
        past.hours.push({
          taskKind: task.kind,
          machineId,
          season,
          minutes: Math.max(1, task.likely * world.hoursBias * Math.exp(log)),
          routeMinutes: task.likely,
        });
        if (task.kind !== 'strip') continue;
        const found = dice.happens(world.foundShare);
        past.strips.push({
          minutes: found ? dice.between(...world.foundMinutes) : 0,
          neededPart: found && dice.happens(world.foundPartShare),
        });
      }
    }
    // The warm half of a year, 26 weeks of working days.
    for (const person of shop.people) {
      for (let left = 26 * person.weekdays.length; left > 0; left -= 1) {
        past.absence.personDays += 1;
        if (!dice.happens(world.absenceProbability)) continue;
        const days = Math.min(left, dice.whole(1, 5));
        past.absence.spellDays.push(days);
        past.absence.personDays += days - 1;
        left -= days - 1;
      }
    }
  }
  return past;
}

/** Order lines that came, spread over the two years before. */
export function makePastOrders(file: WorldFile, seed: number, shop: SimShop): PastOrder[] {
  const dice = new Dice(seed, 22, shop.number);
  return Array.from({ length: file.shop.pastOrders }, (): PastOrder => {
    const supplier = dice.whole(0, file.suppliers.length - 1);
    const days = deliveryDays(file.suppliers[supplier]!, dice);
    const orderedDaysAgo = days + dice.whole(1, 700);
    const promise = firstPromise(file.suppliers[supplier]!, orderedDaysAgo, dice);
    const promises = [promise];
    const promisedAfter = promise.promisedInDays + orderedDaysAgo;
    // Late lines often get a second date, once the first has passed.
    if (days > promisedAfter && dice.happens(0.6)) {
      const second = days + dice.whole(-3, 2);
      if (second > promisedAfter)
        promises.push({ statedDaysAgo: orderedDaysAgo - promisedAfter, promisedInDays: second - orderedDaysAgo });
    }
    return { supplier, orderedDaysAgo, receivedDaysAgo: orderedDaysAgo - days, promises };
  });
}
