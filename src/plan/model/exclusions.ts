/** What must not share the air of a room: sparks, flame and dust beside wet paint and its vapour. Pure. */
import type { Exclusion } from '../../engine/schedule/index.js';
import type { PlaceKind, PlanRecords, PlanTask } from '../inputs/records.js';

/** Cautions of work that makes sparks or flame; a running engine does, too. */
const IGNITING_CAUTIONS = new Set(['wireWheel', 'hotWork', 'carbonMonoxide']);
/** Kinds of task that throw sparks or dust whatever their cautions say. */
const IGNITING_KINDS = new Set(['derust']);

export const VAPOUR_GROUP = 'vapour';

/** What a task does to the air it is in. */
export function givesOf(task: Pick<PlanTask, 'kind' | 'cautions' | 'paint' | 'needsPaintWeather'>): 'vapour' | 'ignition' | null {
  if (task.paint || task.needsPaintWeather) return 'vapour';
  return IGNITING_KINDS.has(task.kind) || task.cautions.some((caution) => IGNITING_CAUTIONS.has(caution))
    ? 'ignition'
    : null;
}

/** Half of the vapours of an unknown product are gone by then: common practice, no source. */
export const UNKNOWN_VAPOUR_MINUTES = 60;

/** The rooms in which places of each kind stand. */
export function roomsOf(places: PlanRecords['places']): ReadonlyMap<PlaceKind, string[]> {
  const rooms = new Map<PlaceKind, string[]>();
  for (const { kind, room } of places) {
    const known = rooms.get(kind) ?? [];
    if (room !== null && !known.includes(room)) known.push(room);
    rooms.set(kind, known);
  }
  return rooms;
}

/**
 * The groups in which a task takes a side: one for each room that it may be in, since which of several places it gets is
 * not known beforehand. Work without a place is done outdoors.
 */
export function exclusionsOf(
  task: PlanTask,
  rooms: ReadonlyMap<PlaceKind, string[]>,
): { exclusions?: Exclusion[] } {
  const gives = givesOf(task);
  if (!gives || !task.placeKind) return {};
  const exclusions = (rooms.get(task.placeKind) ?? []).map((room): Exclusion => ({
    groupId: `${VAPOUR_GROUP} ${room}`,
    side: gives === 'vapour' ? 'second' : 'first',
    ...(gives === 'vapour' ? { tailMinutes: task.paint?.vapourMinutes ?? UNKNOWN_VAPOUR_MINUTES } : {}),
  }));
  return exclusions.length > 0 ? { exclusions } : {};
}
