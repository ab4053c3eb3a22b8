/** How paint ages in the simulated worlds; by the sheet below, computed here and not by the service. */
import type { World } from './world.js';

/** The one product of the simulated shops, an invented enamel. */
export const SHEET = {
  referenceCelsius: 23,
  coldestCelsius: 8,
  hottestCelsius: 32,
  handleMinutes: 600,
  /** Equivalent minutes after which the paint bears assembly: a week at 23 °C. The route's own wait holds beside it. */
  assembleMinutes: 10_080,
  /** Equivalent minutes. */
  recoat: [
    { from: 15, to: 60 },
    { from: 2880, to: Infinity },
  ],
};

/** Sums of equivalent minutes by hour since today's midnight. */
export class PaintTruth {
  private readonly drying: Float64Array;
  private readonly closing: Float64Array;

  constructor(celsius: Float64Array, world: World) {
    this.drying = new Float64Array(celsius.length + 1);
    this.closing = new Float64Array(celsius.length + 1);
    const speed = (at: number): number =>
      2 ** ((Math.min(at, SHEET.hottestCelsius) - SHEET.referenceCelsius) / world.rateDoublingCelsius);
    celsius.forEach((at, hour) => {
      const dries = at < SHEET.coldestCelsius ? 0 : 60 * speed(at);
      this.drying[hour + 1] = this.drying[hour]! + dries;
      this.closing[hour + 1] = this.closing[hour]! + 60 * speed(Math.max(at, SHEET.coldestCelsius));
    });
  }

  /** When a coat that went on at `since` is `age` old; Infinity when not in the days played. */
  dried(since: number, age: number): number {
    return reach(this.drying, since, age);
  }

  closed(since: number, age: number): number {
    return age === Infinity ? Infinity : reach(this.closing, since, age);
  }
}

function reach(sums: Float64Array, since: number, age: number): number {
  let hour = Math.floor(since / 60);
  if (hour >= sums.length - 1) return Infinity;
  const at = sums[hour]! + ((sums[hour + 1]! - sums[hour]!) * (since - 60 * hour)) / 60;
  const target = at + age;
  while (hour < sums.length - 1 && sums[hour + 1]! < target) hour += 1;
  if (hour >= sums.length - 1) return Infinity;
  const additionalMachines = sums[hour + 1]! - sums[hour]!;
  return Math.max(since, 60 * (hour + (additionalMachines > 0 ? (target - sums[hour]!) / additionalMachines : 0)));
}
