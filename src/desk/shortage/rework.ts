/** Making or repairing parts here: what the task is called and how long each need's share takes, told once. */
import type { Decimal } from 'decimal.js';

export const reworkName = (quantity: Decimal, partName: string): string => `Make or repair ${quantity} × ${partName}`;

/** Whole minutes for one need. @param minutes for all that are missing */
export const reworkShare = (missing: Decimal, minutes: number, allMissing: Decimal): number =>
  Math.ceil(missing.times(minutes).div(allMissing).toNumber());
