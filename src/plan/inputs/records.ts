/** The shop's records as the plan takes them: what is read, before a scheduling problem is made of it. */
import type { PaintSpans, PaintWeatherYear } from '../../season/paint-windows.js';
import type { OpenHours } from './shop-calendar.js';

export type PlaceKind = 'bench' | 'sprayArea' | 'cureRack';

export interface PlanRecords {
  now: Date;
  today: string;
  timeZone: string;
  openingHours: OpenHours[];
  people: { id: string; name: string; weeklyHours: OpenHours[] }[];
  daysOff: { personId: string | null; startDate: string; endDate: string }[];
  places: { kind: PlaceKind; capacity: number }[];
  jobs: PlanJob[];
  tasks: PlanTask[];
  /** Hours in which a coat may be applied, from forecast and climate. */
  paintWindows: PaintSpans;
  /** Null when nothing is known about the first snow, or no open job is for the snow. */
  season: PlanSeason | null;
  /** Years of the record that could be the coming one; none where no station tells. */
  weatherYears: PaintWeatherYear[];
  /** By kind of task, how long finished ones took over what was thought likely; the latest ones. */
  paces: { kind: string; ratios: number[] }[];
}

export interface PlanSeason {
  /** How many days before the first snow a machine should be finished. */
  marginDays: number;
  /** First snows of seasons that could be this one, equally likely; null: none. */
  firstSnowDates: (string | null)[];
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
  /** For an assembly: the moment from which the paint on the job may be touched, by its own clock. */
  paintReadyAt: Date | null;
}

export interface AwaitedPart {
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
