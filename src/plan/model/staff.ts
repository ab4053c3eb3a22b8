/** The people as one resource, and the courses that sickness may take. Pure. */
import { sampleAbsences } from '../../engine/learning/index.js';
import { at } from '../../engine/look-up.js';
import type { Interval, Resource, SimulationInput } from '../../engine/schedule/index.js';
import { HORIZON_DAYS, type PlanRecords } from '../inputs/records.js';
import { levels, type LocalMinutes, openIntervals } from '../inputs/shop-calendar.js';

export const PEOPLE = 'people';
/** So many courses of sickness stand for all: a plan reaches some months, in which there are few spells. */
const COURSES = 48;
/** Sickness further off than this moves nothing that a plan tells. */
const SICK_DAYS = 250;
const ABSENCE_SEED = 20_260_403;

type Staffing = Pick<PlanRecords, 'people' | 'openingHours' | 'daysOff'>;
type Person = PlanRecords['people'][number];

/** Some of the people: the only ones who may do a kind of task, or any of several kinds. */
export interface Crew {
  /** As a resource of its own beside `PEOPLE`. */
  id: string;
  members: Person[];
}

export const mayDo = (person: Pick<Person, 'taskKinds'>, kind: string): boolean =>
  !person.taskKinds?.length || person.taskKinds.includes(kind);

/** Whether a resource is only a part of the people, which loads and bars tell once. */
export const isCrew = (resourceId: string): boolean => resourceId.startsWith(`${PEOPLE}: `);

/**
 * The crews that the kinds of the tasks ask for, and all unions of them short of everybody: with one resource for each, no
 * more is ever planned at one moment than can be shared out among the people (P. Hall 1935, "On representatives of
 * subsets"). A kind that nobody may do asks for no crew: somebody will have to.
 */
export function crewsOf({ people, tasks }: Pick<PlanRecords, 'people' | 'tasks'>): Crew[] {
  const crews = new Map<string, Crew>();
  const add = (members: Person[]): void => {
    if (members.length === 0 || members.length === people.length) return;
    const id = `${PEOPLE}: ${members.map((one) => one.name).join(' or ')}`;
    if (crews.has(id)) return;
    const known = [...crews.values()];
    crews.set(id, { id, members });
    for (const other of known) add(people.filter((one) => members.includes(one) || other.members.includes(one)));
  };
  for (const kind of new Set(tasks.map((task) => task.kind))) add(people.filter((one) => mayDo(one, kind)));
  return [...crews.values()];
}

/** The crews whose members include all who may do a kind of task. */
export function crewsFor(kind: string, people: readonly Person[], crews: readonly Crew[]): Crew[] {
  const able = people.filter((one) => mayDo(one, kind));
  return able.length === 0 ? [] : crews.filter(({ members }) => able.every((one) => members.includes(one)));
}

/** The people as one resource, open while anybody is in and reduced while not all of them are; then each crew as another. */
export function staff(records: Staffing, crews: readonly Crew[], local: LocalMinutes): Resource[] {
  const calendars = calendarsOf(records, local);
  return [
    { id: PEOPLE, capacity: calendars.length, ...together(calendars) },
    ...crews.map(({ id, members }) => {
      const own = calendars.filter((_, k) => members.includes(at(records.people, k)));
      return { id, capacity: own.length, ...together(own) };
    }),
  ];
}

/** Each person's own hours. A shop that has entered nobody yet is taken to be one person with the shop's hours. */
export function calendarsOf({ people, openingHours, daysOff }: Staffing, local: LocalMinutes): Interval[][] {
  const all = people.length > 0 ? people : [{ id: '', weeklyHours: openingHours }];
  return all.map((person) =>
    openIntervals(
      local,
      person.weeklyHours.length > 0 ? person.weeklyHours : openingHours,
      daysOff.filter((off) => off.personId === null || off.personId === person.id),
      HORIZON_DAYS,
    ),
  );
}

function together(calendars: readonly Interval[][]): Required<Pick<Resource, 'calendar' | 'reductions'>> {
  const open = levels(calendars);
  const calendar: Interval[] = [];
  for (const { startMinutes, endMinutes } of open) {
    const last = calendar.at(-1);
    if (last && last.endMinutes === startMinutes) last.endMinutes = endMinutes;
    else calendar.push({ startMinutes, endMinutes });
  }
  const reductions = open
    .filter((level) => level.open < calendars.length)
    .map((level) => ({
      startMinutes: level.startMinutes,
      endMinutes: level.endMinutes,
      amount: calendars.length - level.open,
    }));
  return { calendar, reductions };
}

/** Courses of the people's hours with sickness in them, the same for all and for each crew; none where nobody falls ill. */
export function staffSamples(
  records: Staffing & Pick<PlanRecords, 'learning' | 'tasks'>,
  local: LocalMinutes,
  nowMinutes: number,
): NonNullable<SimulationInput['calendars']> {
  const { absence } = records.learning;
  if (!absence) return [];
  const calendars = calendarsOf(records, local);
  // The day under way is as it is: whoever is in is in.
  const firstDay = local.midnight(Math.floor(nowMinutes / 1440) + 1);
  const days = calendars.map((intervals) => workingDays(intervals, local, firstDay));
  const samples = sampleAbsences({
    record: absence,
    workingDays: days.map((one) => one.count),
    seed: ABSENCE_SEED,
    samples: COURSES,
  });
  const courses = samples.map((missed) =>
    calendars.map((intervals, p) =>
      intervals.filter((_, k) => {
        const day = at(at(days, p).dayOf, k);
        return day < 0 || at(missed, p)[day] === 0;
      }),
    ),
  );
  return [
    { resourceId: PEOPLE, samples: courses.map(together) },
    ...crewsOf(records).map(({ id, members }) => ({
      resourceId: id,
      samples: courses.map((course) => together(course.filter((_, p) => members.includes(at(records.people, p))))),
    })),
  ];
}

/** Which of a person's working days each interval lies in; -1 before the first and beyond those that count. */
function workingDays(
  intervals: readonly Interval[],
  local: LocalMinutes,
  firstMinute: number,
): { count: number; dayOf: Int32Array } {
  const dayOf = new Int32Array(intervals.length).fill(-1);
  let count = 0;
  let offset = 0;
  let last = -1;
  intervals.forEach(({ startMinutes }, k) => {
    while (local.midnight(offset + 1) <= startMinutes) offset += 1;
    if (startMinutes < firstMinute || offset > SICK_DAYS) return;
    if (offset !== last) count += 1;
    last = offset;
    dayOf[k] = count - 1;
  });
  return { count, dayOf };
}
