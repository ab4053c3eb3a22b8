/** A made-up shop of any size, with all that real ones have: two people of different hours, coats, cures, parts, winters. */
import { type AgeTable, ageTable, meanAgeTable } from '../src/engine/cure/index.js';
import type { AwaitedPart, PlanPaint, PlanRecords, PlanTask } from '../src/plan/inputs/records.js';
import type { PaintWeatherYear } from '../src/season/paint-windows.js';

const DAY = 1440;
const NOW = new Date('2026-05-04T13:00:00Z');
const TODAY = '2026-05-04';
const EPOCH_DAY = Date.parse(`${TODAY}T04:00:00Z`) / 60_000;

interface Step {
  name: string;
  minutes: number;
  place?: PlanTask['placeKind'];
  coat?: boolean;
  cure?: number;
  after: number[];
  wait?: number;
  recoat?: boolean;
  part?: boolean;
  people?: number;
  kind?: string;
}

/** Sixteen tasks, as the routes of the trade have them. */
const route: Step[] = [
  { name: 'Drain and wash', minutes: 30, after: [] },
  { name: 'Diagnose', minutes: 60, place: 'bench', after: [0] },
  { name: 'Strip', kind: 'strip', minutes: 150, place: 'bench', after: [1] },
  { name: 'De-rust', kind: 'derust', place: 'bench', minutes: 120, after: [2] },
  { name: 'Prime', kind: 'prime', minutes: 60, place: 'sprayArea', coat: true, after: [3] },
  { name: 'Prime again', minutes: 45, place: 'sprayArea', coat: true, after: [4], wait: 15, recoat: true },
  { name: 'Colour', minutes: 45, place: 'sprayArea', coat: true, after: [5], wait: 15, recoat: true },
  { name: 'Colour again', minutes: 45, place: 'sprayArea', coat: true, after: [6], wait: 15, recoat: true },
  { name: 'Clear', minutes: 45, place: 'sprayArea', coat: true, cure: 14 * DAY, after: [7], wait: 15, recoat: true },
  { name: 'Engine', minutes: 180, place: 'bench', after: [2] },
  { name: 'Carburettor', minutes: 90, place: 'bench', after: [1], part: true },
  { name: 'Paddles', minutes: 60, place: 'bench', after: [8], part: true },
  { name: 'Lift the engine on', minutes: 30, people: 2, after: [8, 9, 10] },
  { name: 'Assemble', kind: 'assemble', minutes: 180, place: 'bench', after: [11, 12] },
  { name: 'Test run', minutes: 60, after: [13] },
  { name: 'Safety checks', minutes: 30, after: [14] },
];

/** An invented enamel on an unheated rack. */
const enamel: PlanPaint = {
  productName: 'Enamel',
  clockId: 'rack',
  recoatMinutes: [{ fromMinutes: 15, toMinutes: 60 }, { fromMinutes: 2 * DAY }],
  assembleMinutes: 7 * DAY,
  vapourMinutes: 60,
  known: null,
};
const sheet = {
  name: 'Enamel',
  referenceCelsius: 23,
  minCelsius: 8,
  maxCelsius: 32,
  sensitivity: { rateDoublingCelsius: 10 },
};

/** Hours between 4 and 26 °C in summer, 24 colder in winter, each year a little its own. */
function rack(random: () => number): AgeTable {
  const own = 4 * random() - 2;
  const celsius = Float64Array.from({ length: 24 * 500 }, (_, hour) => {
    const season = 12 * Math.cos((2 * Math.PI * (hour / 24 - 80)) / 365) - 12;
    return 15 + season + own + 6 * Math.sin((hour * Math.PI) / 12) + 3 * (random() - 0.5);
  });
  return ageTable(sheet, EPOCH_DAY, celsius);
}

/** Two hundred finished tasks on a dozen machines. */
const pastHours = (random: () => number): PlanRecords['learning']['hours'] =>
  Array.from({ length: 200 }, (_, k) => ({
    taskKind: ['strip', 'derust', 'prime', 'colour', 'assemble'][k % 5]!,
    machineId: `past ${k % 12}`,
    season: '2025',
    minutes: Math.round(60 + 80 * random()),
    routeMinutes: 90,
  }));

/** A small generator of its own, so that the shop is the same for ever. */
function dice(seed: number): () => number {
  let status = seed >>> 0;
  return () => {
    status = (Math.imul(status, 1_664_525) + 1_013_904_223) >>> 0;
    return status / 4_294_967_296;
  };
}

/** Fair days from April to October, more in summer; the winter begins in November or December. */
function winter(sourceYear: number, random: () => number): PaintWeatherYear {
  const windows: number[] = [];
  for (let k = 0; k < 500; k += 1) {
    const month = new Date((EPOCH_DAY + k * DAY) * 60_000).getUTCMonth() + 1;
    const fair = month >= 5 && month <= 9 ? 0.75 : month === 4 || month === 10 ? 0.4 : 0.02;
    if (random() < fair) windows.push(EPOCH_DAY + k * DAY + 9 * 60, EPOCH_DAY + k * DAY + 17 * 60);
  }
  const snow = new Date(Date.UTC(2026, 10, 1 + Math.floor(random() * 50)));
  return { sourceYear, firstSnowDate: snow.toISOString().slice(0, 10), windows };
}

/** @param jobs open jobs, sixteen tasks each; every third has begun, every fifth waits for parts */
export function madeUpShop(jobs: number, seed = 1): PlanRecords {
  const random = dice(seed);
  const weatherYears = Array.from({ length: 30 }, (_, k) => winter(1995 + k, random));
  const likely = winter(2026, random).windows;
  const years = weatherYears.map(() => rack(random));
  const clock = {
    id: 'rack',
    sheet,
    place: { shelter: 'unheated' as const },
    expected: meanAgeTable(years),
    years,
  };
  const part = (id: string): AwaitedPart => {
    const days = 5 + Math.floor(random() * 40);
    return {
      needId: id,
      partName: 'Part',
      quantity: '1',
      supplierName: 'Tarn',
      expectedDate: new Date(Date.parse(TODAY) + days * 86_400_000).toISOString().slice(0, 10),
      ordered: true,
      backOrdered: false,
      orderLineId: id,
      parcel: id,
      arrivalOffsets: Array.from({ length: 40 }, (_, k) => Math.round(days * Math.exp(((k - 19.5) / 40) * 1.5))),
    };
  };
  const tasks = Array.from({ length: jobs }, (_, job) =>
    route.map((step, k): PlanTask => {
      const id = `job ${job}/${String(k).padStart(2, '0')}`;
      return {
        id,
        jobId: `job ${job}`,
        position: k,
        name: step.name,
        kind: step.kind ?? 'other',
        handsOnMinutes: step.minutes,
        minMinutes: Math.round(step.minutes * 0.6),
        maxMinutes: step.minutes * 2,
        people: step.people ?? 1,
        placeKind: step.place ?? null,
        pausable: !step.coat,
        needsPaintWeather: step.coat ?? false,
        cureMinutes: step.cure ?? 0,
        cautions: [],
        startedAt: job % 3 === 0 && k === 0 ? NOW : null,
        finishedAt: null,
        workedMinutes: 0,
        links: step.after.map((before) => ({
          predecessorId: `job ${job}/${String(before).padStart(2, '0')}`,
          minWaitMinutes: step.wait ?? 0,
          forbidden: step.recoat ? [{ fromMinutes: 60, toMinutes: 2 * DAY }] : [],
          reason: null,
        })),
        awaited: step.part && job % 5 === 0 ? [part(id)] : [],
        paint: step.coat ? enamel : null,
        paintReadyAt: null,
      };
    }),
  ).flat();
  const hours = (weekdays: number[]) => weekdays.map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' }));
  return {
    now: NOW,
    today: TODAY,
    timeZone: 'America/Toronto',
    openingHours: hours([1, 2, 3, 4, 5, 6]),
    people: [
      { id: 'a', name: 'A', weeklyHours: hours([1, 2, 3, 4, 5, 6]) },
      { id: 'b', name: 'B', weeklyHours: hours([2, 4, 6]) },
    ],
    daysOff: [{ personId: null, startDate: '2026-07-20', endDate: '2026-07-31' }],
    places: [
      { kind: 'bench', capacity: 2, room: 'workshop' },
      { kind: 'sprayArea', capacity: 1, room: 'workshop' },
      { kind: 'cureRack', capacity: 8, room: 'workshop' },
    ],
    jobs: Array.from({ length: jobs }, (_, job) => ({
      id: `job ${job}`,
      number: job + 1,
      title: `Job ${job + 1}`,
      priority: 0,
      dueDate: '2026-11-01',
      forSnow: true,
    })),
    tasks,
    paintWindows: likely,
    season: { marginDays: 14, firstSnowDates: weatherYears.map((year) => year.firstSnowDate), endDate: null },
    weatherYears,
    clocks: [clock],
    paints: {},
    maxWaits: [{ fromKind: 'derust', toKind: 'prime', maxMinutes: DAY }],
    likelyWork: [],
    learning: {
      hours: pastHours(random),
      season: '2026',
      absence: { personDays: 400, spellDays: [1, 2, 4] },
      foundWork: Array.from({ length: 30 }, (_, k) => ({ minutes: k % 5 === 0 ? 90 : 0, neededPart: k % 10 === 0 })),
      partDays: Array.from({ length: 20 }, (_, k) => 4 + k),
    },
  };
}
