/** When to order again: so many that what is used while the parcel travels will most likely not run out. */

/** The least whole number that a Poisson count with this mean does not exceed with at least this chance. */
export function poissonQuantile(mean: number, chance: number): number {
  let term = Math.exp(-mean);
  let reached = term;
  let count = 0;
  // Beyond this the sum no longer grows in floating point.
  while (reached < chance && count < mean + 40 * Math.sqrt(mean + 1)) {
    count += 1;
    term *= mean / count;
    reached += term;
  }
  return count;
}

/**
 * The stock at which to order again, taking use as a Poisson count at its past rate (the usual model for slow-moving
 * spare parts; common practice, no source).
 * @param usedPerDay pieces a day over the time looked back on
 * @param leadDays how long an order takes, taken on the safe side
 * @param chance of not running out while the order is on its way
 */
export const reorderPointFor = (usedPerDay: number, leadDays: number, chance: number): number => poissonQuantile(usedPerDay * leadDays, chance);
