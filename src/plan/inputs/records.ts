/** The shop's records as the plan takes them: what is read, before a scheduling problem is made of it. */
import type { AgeingSheet, AgeTable } from '../../engine/cure/index.js';
import type { AbsenceRecord, FoundWorkEntry, HoursEntry } from '../../engine/learning/index.js';
import type { AgeWindow, KnownAge } from '../../engine/schedule/index.js';
import type { Place } from '../../engine/weather/index.js';
import type { PaintSpans, PaintWeatherYear } from '../../season/paint-windows.js';
import type { OpenHours } from './shop-calendar.js';

export type PlaceKind = 'bench' | 'sprayArea' | 'cureRack';

export interface PlanRecords {
  now: Date;
  today: string;
  timeZone: string;
  openingHours: OpenHours[];
  /** `taskKinds`: what they may do; none named: everything. */
  people: { id: string; name: string; weeklyHours: OpenHours[]; taskKinds?: string[] }[];
  daysOff: { personId: string | null; startDate: string; endDate: string }[];
  /** `room`: what is sprayed there and what makes sparks there share the air; null for outdoors. */
  places: { kind: PlaceKind; capacity: number; room: string | null }[];
  jobs: PlanJob[];
  tasks: PlanTask[];
  /** Hours in which a coat may be applied, from forecast and climate. */
  paintWindows: PaintSpans;
  /** Null when nothing is known about the first snow, or no open job is for the snow. */
  season: PlanSeason | null;
  /** Years of the record that could be the coming one; none where no station tells. */
  weatherYears: PaintWeatherYear[];
  /** How the shop's paints age where coats stand, as far as the weather is known; of each weather year in order. */
  clocks: PlanClock[];
  /** By kind of task, the coat to expect of it where none is on yet. */
  paints: Record<string, PlanPaint>;
  /** Pairs of kinds of task that should follow each other soon. */
  maxWaits: MaxWait[];
  /** What was found on open jobs and not decided on yet. */
  likelyWork: LikelyWork[];
  /** What finished tasks, sickness and found work were like here. */
  learning: LearningRecords;
}

/** What a job's findings suggest, counted by how often such proposals are accepted. */
export interface LikelyWork {
  jobId: string;
  /** How many proposals it is of. */
  count: number;
  /** Hands-on, over accepting and refusing. */
  meanMinutes: number;
  /** Equally likely minutes, 0 among them. */
  minutes: number[];
  /** Equally likely days until its parts are there, 0 where none is needed; empty where nothing tells. */
  partDays: number[];
}

/** A product at a place. */
export interface PlanClock {
  id: string;
  sheet: AgeingSheet;
  place: Place;
  /** Minutes count from 1970. */
  expected: AgeTable;
  years: AgeTable[];
}

/** Such as bare steel, which rusts again: primer should follow soon. */
export interface MaxWait {
  fromKind: string;
  toKind: string;
  maxMinutes: number;
}

/** A coat, as it is or as it is expected to be. */
export interface PlanPaint {
  productName: string;
  /** Null where nothing tells how it ages: the route's own times are all there is. */
  clockId: string | null;
  /** How it comes to its recoat windows; as it dries where absent. */
  recoatClockId?: string | null;
  /** Ages at which the next coat may go on, the last without an end: after sanding, where the sheet has no other. */
  recoatMinutes: AgeWindow[];
  /** Age from which it bears assembly. */
  assembleMinutes: number;
  /** How long it gives off vapour that must not meet a spark. */
  vapourMinutes: number;
  /** Of a coat that is on; `atMinutes` counts from 1970. */
  known: (KnownAge & { openingMinutes?: number }) | null;
}

/** What the shop's own record says of its luck. */
export interface LearningRecords {
  /** Finished tasks, the latest ones. `machineId` is the job's. */
  hours: HoursEntry[];
  /** The season the plan is in, as `hours` names it. */
  season: string;
  /** Null: nobody falls ill. */
  absence: AbsenceRecord | null;
  /** Finished steps that may turn up work, by whether they did. Null: none ever does. */
  foundWork: FoundWorkEntry[] | null;
  /** Equally likely days until a part comes that is ordered when it is found to be needed. */
  partDays: number[];
}

export interface PlanSeason {
  /** How many days before the first snow a machine should be finished. */
  marginDays: number;
  /** First snows of seasons that could be this one, equally likely; null: none. */
  firstSnowDates: (string | null)[];
  /** The day the season is over: in a winter without snow, what is finished by then is ready. */
  endDate: string | null;
}

export interface PlanJob {
  id: string;
  number: number;
  title: string;
  priority: number;
  /** The day it is promised for, or should be ready for the season; null when nothing waits for it. */
  dueDate: string | null;
  /** Its season is the snow: it should be finished before the first. */
  forSnow: boolean;
}

export interface PlanTask {
  id: string;
  jobId: string;
  position: number;
  name: string;
  kind: string;
  handsOnMinutes: number;
  minMinutes: number;
  maxMinutes: number;
  people: number;
  placeKind: PlaceKind | null;
  pausable: boolean;
  needsPaintWeather: boolean;
  cureMinutes: number;
  cautions: string[];
  startedAt: Date | null;
  finishedAt: Date | null;
  /** How far it has come: its people's minutes, shared between them. */
  workedMinutes: number;
  links: {
    predecessorId: string;
    minWaitMinutes: number;
    forbidden: { fromMinutes: number; toMinutes: number }[];
    reason: string | null;
  }[];
  /** The parts it needs and does not have yet. */
  awaited: AwaitedPart[];
  /** The coat it puts on; null for other tasks. */
  paint: PlanPaint | null;
  /** For an assembly: the moment from which the paint on the job may be touched, by its own clock. */
  paintReadyAt: Date | null;
}

export interface AwaitedPart {
  /** The part need that it would meet. */
  needId: string;
  partName: string;
  quantity: string;
  supplierName: string | null;
  /** Expected day; for a part that is not ordered, the day if it were ordered today. */
  expectedDate: string;
  ordered: boolean;
  backOrdered: boolean;
  orderLineId: string | null;
  /** What comes together is late together. */
  parcel: string;
  /** Equally likely arrivals, days after today. */
  arrivalOffsets: number[];
}

/** How far ahead is planned. Beyond it a job has no expected day. */
export const HORIZON_DAYS = 500;
