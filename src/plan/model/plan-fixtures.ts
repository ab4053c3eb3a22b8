/** Small made-up records for the plan's own checks: one person, Monday to Friday from nine to five. */

export const weekdayHours = [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' }));

/** Tuesday 15 September 2026, nine in the morning in Toronto. */
export const PLAN_NOW = new Date('2026-09-15T13:00:00Z');

export function planTask(task: Partial<PlanTask> & Pick<PlanTask, 'id'>): PlanTask {
  const handsOnMinutes = task.handsOnMinutes ?? 60;
  return {
    jobId: 'job',
    position: 1,
    name: `Task ${task.id}`,
    kind: 'other',
    handsOnMinutes,
    minMinutes: handsOnMinutes,
    maxMinutes: handsOnMinutes,
    people: 1,
    placeKind: null,
    pausable: true,
    needsPaintWeather: false,
    cureMinutes: 0,
    cautions: [],
    startedAt: null,
    finishedAt: null,
    workedMinutes: 0,
    links: [],
    awaited: [],
    paint: null,
    paintReadyAt: null,
    ...task,
  };
}

export const after = (predecessorId: string, minWaitMinutes = 0): PlanTask['links'][number] => ({
  predecessorId,
  minWaitMinutes,
  forbidden: [],
  reason: null,
});

export const planJob = (job: Partial<PlanJob> = {}): PlanJob => ({
  id: 'job',
  number: 1,
  title: 'Norvane N-21',
  priority: 0,
  dueDate: null,
  forSnow: false,
  ...job,
});

export function planRecords(records: Partial<PlanRecords> = {}): PlanRecords {
  return {
    now: PLAN_NOW,
    today: '2026-09-15',
    timeZone: 'America/Toronto',
    openingHours: weekdayHours,
    people: [{ id: 'mira', name: 'Mira', weeklyHours: [] }],
    daysOff: [],
    places: [
      { kind: 'bench', capacity: 1, room: null },
      { kind: 'sprayArea', capacity: 1, room: null },
      { kind: 'cureRack', capacity: 4, room: null },
    ],
    jobs: [planJob()],
    tasks: [],
    paintWindows: [],
    season: null,
    weatherYears: [],
    clocks: [],
    paints: {},
    maxWaits: [],
    likelyWork: [],
    learning: { hours: [], season: '2026', absence: null, foundWork: null, partDays: [] },
    ...records,
  };
}

/** A part that comes on a day, for sure unless offsets are given. */
export const awaited = (part: Partial<AwaitedPart> & Pick<AwaitedPart, 'expectedDate'>): AwaitedPart => ({
  needId: 'need',
  partName: 'Belt',
  quantity: '1',
  supplierName: null,
  ordered: true,
  backOrdered: false,
  orderLineId: 'line',
  parcel: 'line',
  arrivalOffsets: [Math.round((Date.parse(part.expectedDate) - Date.parse('2026-09-15')) / 86_400_000)],
  ...part,
});
import type { AwaitedPart, PlanJob, PlanRecords, PlanTask } from '../inputs/records.js';
