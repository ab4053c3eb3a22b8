/**
 * Whether paint lets a task start now: the coats it follows must be of the right age, and the air of its room clear. The
 * coat's own status is asked for the age, so that a start, the plan and the status cannot disagree.
 */
import { at as elementAt } from '../engine/look-up.js';
import type { OperationContext, StartHindrance } from '../platform/operation/operation.js';
import { airOf, roomOf, vapourMinutesOf } from '../work/room-air.js';
import { statusesOf } from './curing.queries.js';
import { roleOfKind } from './paint-roles.js';

/** What was done longer ago is recorded as it was, not judged. */
const JUDGED_MILLISECONDS = 3_600_000;

export async function paintHindrance(
  context: OperationContext,
  taskId: string,
  at: Date,
): Promise<StartHindrance | null> {
  if (context.now.getTime() - at.getTime() > JUDGED_MILLISECONDS) return null;
  const task = await context.tx.task.findUniqueOrThrow({
    where: { id: taskId },
    select: {
      id: true,
      name: true,
      kind: true,
      cautions: true,
      needsPaintWeather: true,
      placeKind: true,
      people: true,
      handsOnMinutes: true,
    },
  });
  return (await coatHindrance(context, task)) ?? (await airHindrance(context, task, at));
}

interface StartingTask {
  id: string;
  name: string;
  kind: string;
  cautions: string[];
  needsPaintWeather: boolean;
  placeKind: string | null;
  people: number;
  handsOnMinutes: number;
}

/** The next coat asks for an open window, what is not a coat for paint hard enough; time on the rack asks for nothing. */
async function coatHindrance(context: OperationContext, task: StartingTask): Promise<StartHindrance | null> {
  if (task.people === 0 && task.handsOnMinutes === 0) return null;
  const coats = await context.tx.coat.findMany({
    where: { archivedAt: null, task: { successors: { some: { taskId: task.id } } } },
    include: { task: { select: { name: true } } },
    orderBy: [{ appliedAt: 'desc' }, { id: 'asc' }],
  });
  const latest = coats.filter((coat, k) => coats.findIndex((one) => one.taskId === coat.taskId) === k);
  if (latest.length === 0) return null;
  const statuses = await statusesOf(context, latest);
  const isCoat = task.kind in roleOfKind;
  for (const [k, status] of statuses.entries()) {
    const before = `"${elementAt(latest, k).task?.name ?? 'the coat before'}"`;
    if (isCoat) {
      if (status.recoat.allowedNow) continue;
      const opens = (status.recoat.periods as { opensAt: Date | null }[])
        .map((one) => one.opensAt)
        .find((one) => one !== null && one > context.now);
      return {
        code: 'recoat-not-open',
        detail: `"${task.name}" may not go on ${before} now: ${status.recoat.reason}${opens ? '' : ' Sand it, and record that.'}`,
        allowedFrom: opens ?? null,
      };
    }
    if (['assemble', 'full'].includes(status.stage)) continue;
    return {
      code: 'paint-not-hard',
      detail: `"${task.name}" comes after ${before}, whose paint does not bear assembly yet: ${status.reasons[0]}`,
      allowedFrom: status.assemblyFrom ?? null,
    };
  }
  return null;
}

/**
 * Nothing that makes sparks or dust starts beside wet paint and its vapour, and no coat beside sparks.
 * @param where the very place, where it is known; else any of the kind that the task needs
 */
export async function airHindrance(
  context: OperationContext,
  task: StartingTask,
  at: Date,
  where?: { shelter: string; room: string | null },
): Promise<StartHindrance | null> {
  const own = airOf(task);
  if (!own || !task.placeKind) return null;
  const places = await context.tx.place.findMany({ where: { archivedAt: null } });
  const roomsOf = (kind: string | null): (string | null)[] =>
    places.filter((place) => place.kind === kind).map((place) => roomOf(place));
  const rooms = (where ? [roomOf(where)] : roomsOf(task.placeKind)).filter((room) => room !== null);
  const sprayed = places.filter((place) => place.kind === 'sprayArea');
  const ventilated = sprayed.length > 0 && sprayed.every((place) => place.ventilated);
  const lately = new Date(at.getTime() - LONGEST_VAPOUR_MILLISECONDS);
  const others = await context.tx.task.findMany({
    where: {
      id: { not: task.id },
      archivedAt: null,
      startedAt: { lte: at },
      OR: [{ finishedAt: null }, { finishedAt: { gt: own === 'ignition' ? lately : at } }],
      job: { closedDate: null },
    },
    include: {
      coats: { where: { archivedAt: null }, include: { product: { select: { vapourMinutes: true } } } },
      job: { select: { number: true } },
    },
    orderBy: { id: 'asc' },
  });
  for (const other of others) {
    const theirs = airOf(other);
    if (!theirs || theirs === own || !roomsOf(other.placeKind).some((room) => room !== null && rooms.includes(room)))
      continue;
    const minutes = vapourMinutesOf(other.coats[0]?.product.vapourMinutes ?? null, ventilated);
    const clear = other.finishedAt
      ? new Date(other.finishedAt.getTime() + (theirs === 'vapour' ? minutes * 60_000 : 0))
      : null;
    if (clear && clear <= at) continue;
    const beside = `"${other.name}" on job ${other.job.number}`;
    return {
      code: 'air-not-clear',
      detail:
        own === 'ignition'
          ? `"${task.name}" makes sparks, flame or dust, and ${beside} gives off vapour ` +
            `in the same room${clear ? '' : ' while it is under way'}.`
          : `"${task.name}" gives off vapour, and ${beside} makes sparks, flame or dust in the same room.`,
      allowedFrom: clear,
    };
  }
  return null;
}

const LONGEST_VAPOUR_MILLISECONDS = 24 * 3_600_000;
