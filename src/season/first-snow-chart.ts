/**
 * The first-snow curve as a drawing: pure, text in and text out. It carries its own title and description for
 * those who hear it, tells nothing by colour alone, and prints in black. Above the curve stand the months and what is
 * marked, below it the jobs; no words lie on others, and no line runs through words, however many jobs there are.
 */
import { at as elementAt, required } from '../engine/look-up.js';
import { dayAt, numberOfDay as numberOf } from '../platform/days.js';
import { escapeHtml } from '../platform/escape-html.js';
import { labelRows, widthOfText } from './label-rows.js';

export interface FirstSnowChart {
  /** Such as `2026-27`. */
  seasonLabel: string;
  /** What counts as snow, such as `25 mm`. */
  event: string;
  /** Chance that it has snowed by the end of each day; days in order. */
  points: readonly { day: string; probability: number }[];
  medianDate: string | null;
  today?: string | null;
  /** Jobs, the days by which they are finished with four chances in five, and their chances to be in time, where known. */
  jobs: readonly { label: string; day: string; ready?: number | null }[];
}

const minWidth = 800;
const plot = { left: 76, right: 776, top: 108, bottom: 388 };
/** Baselines of the words above the curve, from the top. */
const above = { title: 20, legend: 40, median: 66, today: 82, months: 100 };
const jobRow = 18;
/** Shown before the curve's first step and after its last. */
const DAYS_BESIDE = 14;
/** From a line to the words beside it. */
const beside = 6;
const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

const wordsOf = (day: string): string =>
  `${Number(day.slice(8))} ${months[Number(day.slice(5, 7)) - 1]} ${day.slice(0, 4)}`;
const round = (value: number): number => Math.round(value * 10) / 10;
const percent = (probability: number): string => `${Math.round(probability * 100)} %`;

/** @returns an SVG document; without points it says so in words */
export function drawFirstSnow(chart: FirstSnowChart): string {
  const title =
    `First snow${chart.seasonLabel === '' ? '' : ` of ${chart.seasonLabel}`} ` +
    `(${chart.event})${chart.jobs.length > 0 ? ', and when the machines will be finished' : ''}`;
  const first = chart.points[0];
  const last = chart.points.at(-1);
  if (!first || !last)
    return document(
      title,
      'There are no station records to draw from.',
      { width: minWidth, height: 60 },
      `<text x="16" y="36">There are no station records to draw from.</text>`,
    );
  const jobs = [...chart.jobs].sort((a, b) => (a.day < b.day ? -1 : a.day > b.day ? 1 : 0));
  // Before its first step and after its last the curve says nothing.
  const rises = chart.points
    .filter((point, index) => point.probability > (chart.points[index - 1]?.probability ?? 0))
    .map((point) => numberOf(point.day));
  const marked = [chart.today, chart.medianDate, ...jobs.map((job) => job.day)].flatMap((day) =>
    day ? [numberOf(day)] : [],
  );
  const startDate = Math.min(Math.max(numberOf(first.day), (rises[0] ?? 0) - DAYS_BESIDE), ...marked);
  const endDate = Math.max(
    Math.min(numberOf(last.day), (rises.at(-1) ?? Infinity) + DAYS_BESIDE),
    startDate + 1,
    ...marked,
  );
  const x = (day: string): number =>
    round(plot.left + ((numberOf(day) - startDate) / (endDate - startDate)) * (plot.right - plot.left));
  const y = (probability: number): number => round(plot.bottom - probability * (plot.bottom - plot.top));
  const probabilityOn = (day: string): number => chart.points.findLast((point) => point.day <= day)?.probability ?? 0;

  // A step: the chance holds until the next day on which it rises.
  const curve = chart.points
    .filter((point) => numberOf(point.day) >= startDate && numberOf(point.day) <= endDate)
    .map((point, index) =>
      index === 0 ? `M${x(point.day)} ${y(point.probability)}` : `H${x(point.day)}V${y(point.probability)}`,
    )
    .join('');
  const today = chart.today ? x(chart.today) : null;
  const median = chart.medianDate ? x(chart.medianDate) : null;
  const labels = jobs.map((job) => ({
    at: x(job.day),
    words:
      `${job.label}: ${wordsOf(job.day)}; snow by then ` +
      `${percent(probabilityOn(job.day))}${typeof job.ready === 'number' ? `, in time ${percent(job.ready)}` : ''}`,
  }));
  const rows = labelRows(
    labels.map(({ at, words }) => ({ lineAt: at, from: at + beside, to: at + beside + widthOfText(words) })),
  );
  const marks = [
    ...(median === null
      ? []
      : [
          mark(
            'median',
            median,
            `even chance: ${wordsOf(required(chart.medianDate, 'median that is drawn'))}`,
            median > (plot.left + plot.right) / 2,
          ),
        ]),
    // The median's line goes up past these words: they stand on its other side.
    ...(today === null
      ? []
      : [mark('today', today, 'today', median !== null && median >= today && median < today + 50)]),
  ];
  const lines = [today, median].filter((at): at is number => at !== null);
  const parts = [
    `<text class="heading" x="16" y="${above.title}">${escapeHtml(title)}</text>`,
    ...(jobs.length > 0
      ? [
          `<text x="16" y="${above.legend}">Each mark: the day by which a job is finished with four chances in five.</text>`,
        ]
      : []),
    `<text text-anchor="middle" transform="translate(18 ${(plot.top + plot.bottom) / 2}) ` +
      `rotate(-90)">chance that it has snowed by the day</text>`,
    ...grid(startDate, endDate, x, y, lines),
    `<path class="curve" d="${curve}H${plot.right}"/>`,
    ...marks,
    ...labels.map(({ at, words }, index) =>
      jobMark(
        words,
        at,
        y(probabilityOn(elementAt(jobs, index).day)),
        plot.bottom + 24 + elementAt(rows, index) * jobRow,
      ),
    ),
  ];
  const width = Math.ceil(Math.max(minWidth, ...labels.map(({ at, words }) => at + beside + widthOfText(words) + 8)));
  const height = plot.bottom + 24 + Math.max(0, ...rows.map((row) => row + 1)) * jobRow;
  return document(title, describe(chart, jobs, probabilityOn), { width, height }, parts.join('\n'));
}

function describe(chart: FirstSnowChart, jobs: FirstSnowChart['jobs'], probabilityOn: (day: string) => number): string {
  const sentences = ['The curve rises from left to right: the chance that it has snowed by each day.'];
  for (const level of [0.1, 0.5, 0.9]) {
    const day = chart.points.find((point) => point.probability >= level)?.day;
    if (day) sentences.push(`${percent(level)} by ${wordsOf(day)}.`);
  }
  if (chart.today) sentences.push(`Today is ${wordsOf(chart.today)}.`);
  for (const job of jobs)
    sentences.push(
      `${job.label}: finished by ${wordsOf(job.day)} with four chances in five, when the chance that it has ` +
        `snowed is ${percent(probabilityOn(job.day))}` +
        (typeof job.ready === 'number' ? `; the chance that it is in time is ${percent(job.ready)}.` : '.'),
    );
  return sentences.join(' ');
}

/** @param lines where the marks' lines go up through the months */
function grid(
  startDate: number,
  endDate: number,
  x: (day: string) => number,
  y: (probability: number) => number,
  lines: readonly number[],
): string[] {
  const drawn = [0, 0.25, 0.5, 0.75, 1].map(
    (probability) =>
      `<line class="grid" x1="${plot.left}" x2="${plot.right}" y1="${y(probability)}" y2="${y(probability)}"/><text ` +
      `x="${plot.left - 6}" y="${y(probability) + 4}" text-anchor="end">${percent(probability)}</text>`,
  );
  for (let number = startDate; number <= endDate; number += 1) {
    const day = dayAt(number);
    if (!day.endsWith('-01')) continue;
    const at = x(day);
    const month = elementAt(months, Number(day.slice(5, 7)) - 1);
    drawn.push(`<line class="grid" x1="${at}" x2="${at}" y1="${plot.top - 5}" y2="${plot.bottom}"/>`);
    const until = Math.min(plot.right, x(dayAt(number + 28)));
    const placed = [`${month} ${day.slice(0, 4)}`, month]
      .map((words) => ({ words, from: besideLines(at + 3, widthOfText(words), lines) }))
      .find(({ words, from }) => from + widthOfText(words) <= until);
    if (placed) drawn.push(`<text x="${placed.from}" y="${above.months}">${placed.words}</text>`);
  }
  return drawn;
}

/** The first place from `start` on where words of a width stand on no line. */
function besideLines(start: number, width: number, lines: readonly number[]): number {
  let from = start;
  for (const at of [...lines].sort((a, b) => a - b)) if (at > from - 3 && at < from + width + 3) from = round(at + 3);
  return from;
}

function mark(kind: 'today' | 'median', at: number, words: string, left: boolean): string {
  return (
    `<line class="${kind}" x1="${at}" x2="${at}" y1="${above[kind] - 10}" y2="${plot.bottom}"/><text ` +
    `x="${left ? at - 4 : at + 4}" y="${above[kind]}" text-anchor="${left ? 'end' : 'start'}">${escapeHtml(words)}</text>`
  );
}

function jobMark(words: string, at: number, height: number, row: number): string {
  return (
    `<g class="job"><line x1="${at}" x2="${at}" y1="${height}" y2="${row - 4}"/><path d="M${at} ${height - 5}l5 ` +
    `5l-5 5l-5 -5z"/><text x="${round(at + beside)}" y="${row}">${escapeHtml(words)}</text></g>`
  );
}

function document(
  title: string,
  description: string,
  { width, height }: { width: number; height: number },
  content: string,
): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="first-snow-title first-snow-description"
 viewBox="0 0 ${width} ${height}" width="${width}" height="${height}">
<title id="first-snow-title">${escapeHtml(title)}</title>
<desc id="first-snow-description">${escapeHtml(description)}</desc>
<style>
svg{background:#fff}text{font:12px system-ui,sans-serif;fill:#222}.heading{font-size:15px;font-weight:600}
.grid{stroke:#ccc;stroke-width:1}.curve{fill:none;stroke:#123f73;stroke-width:2.5}
.today{stroke:#222;stroke-width:1;stroke-dasharray:2 3}.median{stroke:#222;stroke-width:1;stroke-dasharray:8 4}
.job line{stroke:#7a3b00;stroke-width:1}.job path{fill:#7a3b00}
@media print{.curve,.job line{stroke:#000}.job path{fill:#000}}
</style>
${content}
</svg>
`;
}
