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

/** Everybody's hours in the same proportion, so that together they are no more than so many a week. */
export function withHoursAWeek(records: PlanRecords, hours: number): PlanRecords {
  const own = (person: PlanRecords['people'][number]): OpenHours[] =>
    person.weeklyHours.length > 0 ? person.weeklyHours : records.openingHours;
  const people = records.people.length > 0 ? records.people : [{ id: '', name: '', weeklyHours: records.openingHours }];
  const minutes = people.reduce((sum, person) => sum + minutesAWeek(own(person)), 0);
  const share = (60 * hours) / minutes;
  if (minutes === 0 || share >= 1) return records;
  const shorter = (period: OpenHours): OpenHours => ({
    ...period,
    closes: later(period.opens, Math.max(1, Math.round(share * lengthOf(period)))),
  });
  return { ...records, people: people.map((person) => ({ ...person, weeklyHours: own(person).map(shorter) })) };
}

const minuteOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));
const lengthOf = ({ opens, closes }: OpenHours): number => minuteOf(closes) - minuteOf(opens);
const minutesAWeek = (hours: readonly OpenHours[]): number => hours.reduce((sum, period) => sum + lengthOf(period), 0);

/** An hour or so more on one day a week: the last that is worked, for one person. */
export function withMinutesMoreAWeek(records: PlanRecords, minutes: number): PlanRecords {
  const [first] = records.people;
  const hours = first && first.weeklyHours.length > 0 ? first.weeklyHours : records.openingHours;
  const lastDay = Math.max(...hours.map((period) => period.weekday));
  const longerDay = longer(
    hours.filter((period) => period.weekday === lastDay),
    minutes,
  );
  const weeklyHours = [...hours.filter((period) => period.weekday !== lastDay), ...longerDay];
  const person = first ?? { id: 'first', name: 'one person', weeklyHours };
  return { ...records, people: [{ ...person, weeklyHours }, ...records.people.slice(1)] };
}

/** One person more in the shop's own hours, from today for so many weeks. */
export function withHelper(records: PlanRecords, weeks: number): PlanRecords {
  const id = 'helper';
  const people =
    records.people.length > 0
      ? records.people
      : [{ id: 'first', name: 'one person', weeklyHours: records.openingHours }];
  return {
    ...records,
    people: [...people, { id, name: 'a helper', weeklyHours: records.openingHours }],
    daysOff: [
      ...records.daysOff,
      { personId: id, startDate: addDays(records.today, 7 * weeks), endDate: addDays(records.today, HORIZON_DAYS) },
    ],
  };
}

/** The first entered day off that is still to come is worked. */
export function withDayOffLess(records: PlanRecords): { records: PlanRecords; date: string } | null {
  const [first] = records.daysOff
    .filter((off) => off.endDate >= records.today)
    .sort((a, b) => (a.startDate < b.startDate ? -1 : 1));
  if (!first) return null;
  const date = first.startDate > records.today ? first.startDate : records.today;
  const rest = { ...first, startDate: addDays(date, 1) };
  const others = records.daysOff.filter((off) => off !== first);
  return { records: { ...records, daysOff: rest.startDate <= rest.endDate ? [...others, rest] : others }, date };
}

/** Every coat stands at one temperature. */
export function withHeatedRack(records: PlanRecords, celsius: number): PlanRecords {
  return {
    ...records,
    clocks: records.clocks.map((clock) => {
      const place = { ...clock.place, shelter: 'heated' as const, heatedToCelsius: celsius };
      const { fromMinute, drying } = clock.expected;
      const steady = steadyTable({ sheet: clock.sheet, place }, fromMinute, (drying.length - 1) / 24);
      return { ...clock, expected: steady, years: clock.years.map(() => steady) };
    }),
  };
}

/** What is known to be needed and is not ordered yet comes so many days later. */
export const withPartsLater = (records: PlanRecords, days: number): PlanRecords => ({
  ...records,
  tasks: records.tasks.map((task) => ({
    ...task,
    awaited: task.awaited.map((part) =>
      part.ordered
        ? part
        : {
            ...part,
            expectedDate: addDays(part.expectedDate, days),
            arrivalOffsets: part.arrivalOffsets.map((offset) => offset + days),
          },
    ),
  })),
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
  const at = Math.min(1440, minuteOf(time) + minutes);
  return `${String(Math.floor(at / 60)).padStart(2, '0')}:${String(at % 60).padStart(2, '0')}`;
}
