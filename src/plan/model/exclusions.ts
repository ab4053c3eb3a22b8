/** What must not share the air of a room: sparks, flame and dust beside wet paint and its vapour. Pure. */
import type { Exclusion } from '../../engine/schedule/index.js';
import { airOf, UNKNOWN_VAPOUR_MINUTES } from '../../work/room-air.js';
import type { PlaceKind, PlanRecords, PlanTask } from '../inputs/records.js';

const VAPOUR_GROUP = 'vapour';

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
export function exclusionsOf(task: PlanTask, rooms: ReadonlyMap<PlaceKind, string[]>): { exclusions?: Exclusion[] } {
  const gives = airOf(task);
  if (!gives || !task.placeKind) return {};
  const exclusions = (rooms.get(task.placeKind) ?? []).map((room): Exclusion => ({
    groupId: `${VAPOUR_GROUP} ${room}`,
    side: gives === 'vapour' ? 'second' : 'first',
    ...(gives === 'vapour' ? { tailMinutes: task.paint?.vapourMinutes ?? UNKNOWN_VAPOUR_MINUTES } : {}),
  }));
  return exclusions.length > 0 ? { exclusions } : {};
}
