/** What work does to the air of its room: sparks, flame and dust must not meet wet paint and its vapour. Pure. */

/** Cautions of work that makes sparks or flame; a running engine does, too. */
const IGNITING_CAUTIONS = new Set(['wireWheel', 'hotWork', 'carbonMonoxide']);
/** Kinds of task that throw sparks or dust whatever their cautions say. */
const IGNITING_KINDS = new Set(['derust']);

/** How long vapour of a product stands whose sheet is silent: common practice, no source. */
export const UNKNOWN_VAPOUR_MINUTES = 60;
/** Places without a room of their own share the air of the workshop. */
const ONE_ROOM = 'workshop';

export interface WorkInAir {
  kind: string;
  cautions: readonly string[];
  needsPaintWeather: boolean;
  placeKind: string | null;
}

export const airOf = (task: Omit<WorkInAir, 'placeKind'>): 'vapour' | 'ignition' | null => {
  if (task.needsPaintWeather) return 'vapour';
  return IGNITING_KINDS.has(task.kind) || task.cautions.some((caution) => IGNITING_CAUTIONS.has(caution))
    ? 'ignition'
    : null;
};

/** The room a place stands in; null outdoors, where nothing gathers. */
export const roomOf = (place: { shelter: string; room: string | null }): string | null =>
  place.shelter === 'outdoors' ? null : (place.room ?? ONE_ROOM);

/** How long a coat's vapour stands; half as long where the air is drawn off. */
export const vapourMinutesOf = (sheetMinutes: number | null, ventilated: boolean): number =>
  Math.round((sheetMinutes ?? UNKNOWN_VAPOUR_MINUTES) / (ventilated ? 2 : 1));
