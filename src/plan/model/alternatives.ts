/** The same records with something changed, for questions that begin with "what if". Pure. */
import { steadyTable } from '../../finish/age-tables.js';
import { addDays } from '../../platform/days.js';
import type { PaintSpans } from '../../season/paint-windows.js';
import { HORIZON_DAYS, type PlaceKind, type PlanRecords } from '../inputs/records.js';
import type { OpenHours } from '../inputs/shop-calendar.js';

export interface Alternative {
  /** Everything awaited on this line comes so many days later than it would have. */
  late?: { orderLineId: string; days: number } | null;
  /** Nobody, or without one person, works on these days; both ends included. */
  dayOff?: { personId: string | null; startDate: string; endDate: string } | null;
  /** One more of a kind. */
  extraPlace?: PlaceKind | null;
  /** The job is given up. */
  withoutJobId?: string | null;
  /** The coats of one job, or of all without a `jobId`, cure at so many °C. */
  heatedCure?: { jobId: string | null; celsius: number } | null;
  /** Paint may go on in all working hours, whatever the weather: the spray area is heated and its air drawn off. */
  heatedSprayArea?: boolean | null;
  /** The last period of every working day ends so much later. */
  extraMinutesADay?: number | null;
}

export function alternative(
  records: PlanRecords,
  { late, dayOff, extraPlace, withoutJobId, heatedCure, heatedSprayArea, extraMinutesADay }: Alternative,
): PlanRecords {
  let changed = records;
  if (late) changed = withLatePart(changed, late.orderLineId, late.days);
  if (dayOff) changed = { ...changed, daysOff: [...changed.daysOff, dayOff] };
  if (extraPlace) changed = withPlace(changed, extraPlace, 1);
  if (withoutJobId)
    changed = {
      ...changed,
      jobs: changed.jobs.filter((job) => job.id !== withoutJobId),
      tasks: changed.tasks.filter((task) => task.jobId !== withoutJobId),
      likelyWork: changed.likelyWork.filter((work) => work.jobId !== withoutJobId),
    };
  if (heatedCure) changed = withHeatedCure(changed, heatedCure.celsius, heatedCure.jobId);
  if (heatedSprayArea) changed = withPaintEveryDay(changed);
  if (extraMinutesADay) changed = withLongerDays(changed, extraMinutesADay);
  return changed;
}

export function withLatePart(records: PlanRecords, orderLineId: string, days: number): PlanRecords {
  return {
    ...records,
    tasks: records.tasks.map((task) => ({
      ...task,
      awaited: task.awaited.map((part) =>
        part.orderLineId === orderLineId
          ? {
              ...part,
              expectedDate: addDays(part.expectedDate, days),
              arrivalOffsets: part.arrivalOffsets.map((offset) => Math.max(0, offset + days)),
            }
          : part,
      ),
    })),
  };
}

/** Beside those of its kind, in their room. */
export const withPlace = (records: PlanRecords, kind: PlaceKind, capacity: number): PlanRecords => ({
  ...records,
  places: [
    ...records.places,
    { kind, capacity, room: (records.places.find((place) => place.kind === kind) ?? records.places[0])?.room ?? null },
  ],
});

/**
 * Coats that cure at one temperature from now on: parts moved to a heated rack, or the area heated. What a coat has come to
 * by now stays.
 */
export function withHeatedCure(records: PlanRecords, celsius: number, jobId: string | null = null): PlanRecords {
  const heated = (clockId: string): string => `${clockId} at ${celsius}`;
  const clocks = records.clocks.map((clock) => {
    const place = { shelter: 'heated' as const, heatedToCelsius: celsius };
    const table = steadyTable(
      { sheet: clock.sheet, place },
      clock.expected.fromMinute,
      (clock.expected.drying.length - 1) / 24,
    );
    return { ...clock, id: heated(clock.id), place, expected: table, years: clock.years.map(() => table) };
  });
  return {
    ...records,
    clocks: [...records.clocks, ...clocks],
    tasks: records.tasks.map((task) =>
      task.paint?.clockId && (jobId === null || task.jobId === jobId)
        ? { ...task, paint: { ...task.paint, clockId: heated(task.paint.clockId) } }
        : task,
    ),
  };
}

/** As if every hour were fit for paint. */
export function withPaintEveryDay(records: PlanRecords): PlanRecords {
  const from = Math.floor(records.now.getTime() / 60_000);
  const always: PaintSpans = [from, from + 2 * HORIZON_DAYS * 1440];
  return {
    ...records,
    paintWindows: always,
    weatherYears: records.weatherYears.map((year) => ({ ...year, windows: always })),
  };
}

/** A shop whose people have no hours of their own works the shop's. */
export const withLongerDays = (records: PlanRecords, minutes: number): PlanRecords => ({
  ...records,
  openingHours: longer(records.openingHours, minutes),
  people: records.people.map((person) => ({ ...person, weeklyHours: longer(person.weeklyHours, minutes) })),
});

export const withAllParts = (records: PlanRecords): PlanRecords => ({
  ...records,
  tasks: records.tasks.map((task) => ({ ...task, awaited: [] })),
});

/** Each weekday's last period so much longer, as far as the day goes. */
function longer(hours: readonly OpenHours[], minutes: number): OpenHours[] {
  const last = new Map<number, string>();
  for (const { weekday, closes } of hours) if (closes > (last.get(weekday) ?? '')) last.set(weekday, closes);
  return hours.map((period) =>
    period.closes === last.get(period.weekday) ? { ...period, closes: later(period.closes, minutes) } : period,
  );
}

function later(time: string, minutes: number): string {
  const at = Math.min(1440, Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5)) + minutes);
  return `${String(Math.floor(at / 60)).padStart(2, '0')}:${String(at % 60).padStart(2, '0')}`;
}
