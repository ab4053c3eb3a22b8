/** One future of a shop: everything that will turn out somehow, drawn beforehand and told to nobody. */
import { dayNumber, isoDay } from '../../../src/engine/days.js';
import {
  findSeasons,
  firstSnowRule,
  paintDate,
  type PaintSettings,
  placeTemperatures,
} from '../../../src/engine/weather/index.js';
import { climateRecord } from './climate.js';
import { Dice } from './dice.js';
import { kindLuck } from './history.js';
import { deliveryDays, type SimShop } from './shop.js';
import type { World, WorldFile } from './world.js';

/** How far a future is played. */
export const FUTURE_DAYS = 420;

export interface Found {
  minutes: number;
  /** Days until its part comes, from the day of the strip; null when it needs none. */
  partDays: number | null;
}

export interface Future {
  /** What each task takes, hands on. */
  minutes: Map<string, number>;
  /** Work that a strip turns up, by the strip's id. */
  found: Map<string, Found>;
  /** By line, the minute at which it is there. */
  arrivals: number[];
  /** By person and day from today: 1 where they are ill. */
  ill: Uint8Array[];
  /** By day from today, in which minutes of the day paint may go on. */
  paint: { from: number; to: number }[][];
  /** The rack's and the shed's temperature by hour from today's midnight. */
  celsius: Float64Array;
  /** Day number, counted from today, of the first snow; null when that winter has none. */
  firstSnow: number | null;
}

export interface TrueWeather {
  paint: Future['paint'];
  celsius: Float64Array;
  firstSnow: number | null;
}

/** How the shop paints, the same for its own records and for the truth. */
export const PAINTING: PaintSettings & { place: { shelter: 'unheated' } } = {
  place: { shelter: 'unheated' },
  hours: { fromMinute: 9 * 60, toMinute: 17 * 60 },
};
export const HEATED_TO = 20;
export const SNOW_MILLIMETRES = 25;
export const LEAST_WINDOW = 240;

/** The same fresh years serve all worlds of one climate. */
const years = new Map<string, TrueWeather>();

function freshWeather(world: World, shop: SimShop, seed: number): TrueWeather {
  const key = `${shop.number} ${shop.today} ${shop.latitude} ${world.warmerCelsius} ${seed}`;
  let weather = years.get(key);
  if (!weather) {
    weather = makeWeather(world, shop, seed);
    years.set(key, weather);
  }
  return weather;
}

/** The weather of a fresh year of the shop's climate. A year whose first snow has come before today is passed over. */
function makeWeather(world: World, shop: SimShop, seed: number): TrueWeather {
  for (let attempt = 0; ; attempt += 1) {
    const from = dayNumber(shop.today);
    const record = climateRecord({
      seed: new Dice(seed, 31, attempt).whole(1, 1_000_000_000),
      latitude: shop.latitude,
      endDate: isoDay(from + FUTURE_DAYS),
      years: 2,
      warmerCelsius: world.warmerCelsius,
    });
    const season = findSeasons(record, firstSnowRule(SNOW_MILLIMETRES, shop.latitude)).find(
      (one) => one.startYear === Number(shop.today.slice(0, 4)),
    );
    const firstSnow = season?.status === 'event' ? dayNumber(season.eventDate!) - from : null;
    if (firstSnow !== null && firstSnow < 0) continue;
    const celsius = new Float64Array(FUTURE_DAYS * 24);
    placeTemperatures(record, { fromDayNumber: from, days: FUTURE_DAYS, place: PAINTING.place }).forEach(
      (span) => (celsius[span.fromMinute / 60] = span.celsius),
    );
    const paint = Array.from({ length: FUTURE_DAYS }, (_, day) =>
      paintDate(record, from + day, PAINTING)
        .windows.filter((one) => one.toMinute - one.fromMinute >= LEAST_WINDOW)
        .map((one) => ({ from: one.fromMinute, to: one.toMinute })),
    );
    return { paint, celsius, firstSnow };
  }
}

export function drawFuture(
  { file, world, seed }: { file: WorldFile; world: World; seed: number },
  shop: SimShop,
  number: number,
): Future {
  const dice = new Dice(seed, 41, shop.number, number);
  const byKind = kindLuck(world, seed, shop.number);
  const season = world.seasonLogSd * dice.normal();
  const machines = new Map(shop.machines.map(({ jobId }) => [jobId, world.machineLogSd * dice.normal()]));
  const minutes = new Map<string, number>();
  const found: Future['found'] = new Map();
  for (const task of shop.tasks) {
    const log = byKind(task.kind) + season + machines.get(task.jobId)! + world.hoursLogSd * dice.normal();
    minutes.set(
      task.id,
      task.likely === 0 ? 0 : Math.max(1, Math.round(task.likely * world.hoursBias * Math.exp(log))),
    );
    const strip = new Dice(seed, 42, shop.number, number, minutes.size);
    if (task.kind === 'strip' && strip.happens(world.foundShare))
      found.set(task.id, {
        minutes: Math.round(strip.between(...world.foundMinutes)),
        partDays: strip.happens(world.foundPartShare) ? deliveryDays(strip.pick(file.suppliers), strip) : null,
      });
  }
  return {
    minutes,
    found,
    arrivals: shop.lines.map((line) => {
      // It has not come yet: days are drawn anew until they reach beyond today.
      for (;;) {
        const days = deliveryDays(file.suppliers[line.supplier]!, dice) - line.orderedDaysAgo;
        if (days >= 0) return days * 1440;
      }
    }),
    ill: shop.people.map((person) => illness(shop, person.weekdays, world.absenceProbability, dice)),
    ...freshWeather(world, shop, new Dice(seed, 43, shop.number, number).whole(1, 1_000_000_000)),
  };
}

/** Spells count working days of the person. */
function illness(shop: SimShop, weekdays: readonly number[], probability: number, dice: Dice): Uint8Array {
  const ill = new Uint8Array(FUTURE_DAYS);
  let left = 0;
  for (let day = 0; day < FUTURE_DAYS; day += 1) {
    if (!weekdays.includes(weekdayOf(shop.today, day))) continue;
    if (left === 0 && dice.happens(probability)) left = dice.whole(1, 5);
    if (left === 0) continue;
    ill[day] = 1;
    left -= 1;
  }
  return ill;
}

/** 1 Monday … 7 Sunday; 1970-01-01 was a Thursday. */
export const weekdayOf = (today: string, day: number): number => ((dayNumber(today) + day + 3) % 7) + 1;
