/**
 * Two rules of the trade, checked on a finished schedule by themselves, minute by minute where it matters and with nothing
 * of the scheduling engine: no sparks, flame or dust beside wet paint or its vapour in one room, and no bare steel left
 * standing too long.
 */

/** One task as it was done; minutes from any origin. */
export interface DoneTask {
  id: string;
  room: string;
  startMinutes: number;
  finishMinutes: number;
  /** What it does to the air of its room. */
  gives: 'ignition' | 'vapour' | null;
  /** How long vapour stands after the coat. */
  vapourMinutes?: number;
}

export interface Overlap {
  ignition: string;
  vapour: string;
  room: string;
  fromMinutes: number;
  toMinutes: number;
}

/** Every pair of an igniting task and a coat, its vapour included, that meet in one room. */
export function overlapsOf(tasks: readonly DoneTask[]): Overlap[] {
  const overlaps: Overlap[] = [];
  for (const hot of tasks) {
    if (hot.gives !== 'ignition') continue;
    for (const coat of tasks) {
      if (coat.gives !== 'vapour' || coat.room !== hot.room) continue;
      const fromMinutes = Math.max(hot.startMinutes, coat.startMinutes);
      const toMinutes = Math.min(hot.finishMinutes, coat.finishMinutes + (coat.vapourMinutes ?? 0));
      if (fromMinutes < toMinutes)
        overlaps.push({ ignition: hot.id, vapour: coat.id, room: hot.room, fromMinutes, toMinutes });
    }
  }
  return overlaps;
}

export interface SteelWait {
  bare: string;
  primed: string;
  waitMinutes: number;
  maxMinutes: number;
}

/** The waits of bare steel for its first primer, and which are too long. */
export function steelWaits(pairs: readonly { bare: DoneTask; primed: DoneTask; maxMinutes: number }[]): {
  waits: SteelWait[];
  tooLong: SteelWait[];
} {
  const waits = pairs.map(({ bare, primed, maxMinutes }) => ({
    bare: bare.id,
    primed: primed.id,
    waitMinutes: primed.startMinutes - bare.finishMinutes,
    maxMinutes,
  }));
  return { waits, tooLong: waits.filter((one) => one.waitMinutes > one.maxMinutes) };
}
