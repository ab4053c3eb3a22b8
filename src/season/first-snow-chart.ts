/**
 * The first-snow curve as a drawing: pure, text in and text out. It carries its own title and description for
 * those who hear it, tells nothing by colour alone, and prints in black.
 */

export interface FirstSnowChart {
  /** Such as `2026-27`. */
  seasonLabel: string;
  /** What counts as snow, such as `25 mm`. */
  event: string;
  /** Chance that it has snowed by the end of each day; days in order. */
  points: readonly { day: string; chance: number }[];
  medianDay: string | null;
  today?: string | null;
  /** Jobs and the days on which they are likely to be finished. */
  jobs: readonly { label: string; day: string }[];
}

const width = 800;
const plot = { left: 56, right: 776, top: 24, bottom: 304 };
const jobRow = 18;
const dayMilliseconds = 86_400_000;
const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

const numberOf = (day: string): number => Date.parse(`${day}T00:00:00Z`) / dayMilliseconds;
const wordsOf = (day: string): string => `${Number(day.slice(8))} ${months[Number(day.slice(5, 7)) - 1]} ${day.slice(0, 4)}`;
const escape = (text: string): string => text.replace(/[&<>"']/g, (one) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' })[one]!);
const round = (value: number): number => Math.round(value * 10) / 10;
const percent = (chance: number): string => `${Math.round(chance * 100)} %`;

/** @returns an SVG document; without points it says so in words */
export function drawFirstSnow(chart: FirstSnowChart): string {
  const title = `First snow of ${chart.seasonLabel} (${chart.event})`;
  const first = chart.points[0];
  const last = chart.points.at(-1);
  if (!first || !last) return document(title, 'There are no station records to draw from.', 60, `<text x="16" y="36">There are no station records to draw from.</text>`);
  const jobs = [...chart.jobs].sort((a, b) => (a.day < b.day ? -1 : a.day > b.day ? 1 : 0));
  const fromDay = numberOf([first.day, ...jobs.map((job) => job.day), chart.today ?? first.day].sort()[0]!);
  const toDay = Math.max(numberOf(last.day), fromDay + 1, ...jobs.map((job) => numberOf(job.day)));
  const x = (day: string): number => round(plot.left + ((numberOf(day) - fromDay) / (toDay - fromDay)) * (plot.right - plot.left));
  const y = (chance: number): number => round(plot.bottom - chance * (plot.bottom - plot.top));
  const chanceOn = (day: string): number => chart.points.findLast((point) => point.day <= day)?.chance ?? 0;

  // A step: the chance holds until the next day on which it rises.
  const curve = chart.points.map((point, index) => (index === 0 ? `M${x(point.day)} ${y(point.chance)}` : `H${x(point.day)}V${y(point.chance)}`)).join('');
  const parts = [
    ...grid(fromDay, toDay, x, y),
    `<path class="curve" d="${curve}H${plot.right}"/>`,
    ...(chart.today ? [mark(x(chart.today), 'today', 'today')] : []),
    ...(chart.medianDay ? [mark(x(chart.medianDay), `even chance: ${wordsOf(chart.medianDay)}`, 'median')] : []),
    ...jobs.map((job, index) => jobMark(job, index, x(job.day), y(chanceOn(job.day)), chanceOn(job.day))),
  ];
  const height = plot.bottom + 44 + jobs.length * jobRow;
  return document(title, describe(chart, jobs, chanceOn), height, parts.join('\n'));
}

function describe(chart: FirstSnowChart, jobs: FirstSnowChart['jobs'], chanceOn: (day: string) => number): string {
  const sentences = ['The curve rises from left to right: the chance that it has snowed by each day.'];
  for (const level of [0.1, 0.5, 0.9]) {
    const day = chart.points.find((point) => point.chance >= level)?.day;
    if (day) sentences.push(`${percent(level)} by ${wordsOf(day)}.`);
  }
  if (chart.today) sentences.push(`Today is ${wordsOf(chart.today)}.`);
  for (const job of jobs) sentences.push(`${job.label}: finished by ${wordsOf(job.day)}, when the chance that it has snowed is ${percent(chanceOn(job.day))}.`);
  return sentences.join(' ');
}

function grid(fromDay: number, toDay: number, x: (day: string) => number, y: (chance: number) => number): string[] {
  const lines = [0, 0.25, 0.5, 0.75, 1].map(
    (chance) => `<line class="grid" x1="${plot.left}" x2="${plot.right}" y1="${y(chance)}" y2="${y(chance)}"/><text x="${plot.left - 6}" y="${y(chance) + 4}" text-anchor="end">${percent(chance)}</text>`,
  );
  for (let number = Math.ceil(fromDay); number <= toDay; number += 1) {
    const day = new Date(number * dayMilliseconds).toISOString().slice(0, 10);
    if (!day.endsWith('-01')) continue;
    const at = x(day);
    lines.push(`<line class="grid" x1="${at}" x2="${at}" y1="${plot.top}" y2="${plot.bottom + 5}"/>`);
    if (at < plot.right - 30) lines.push(`<text x="${at + 3}" y="${plot.bottom + 18}">${months[Number(day.slice(5, 7)) - 1]}</text>`);
  }
  return lines;
}

function mark(at: number, words: string, kind: string): string {
  const left = at > (plot.left + plot.right) / 2;
  const high = kind === 'today' ? plot.top + 10 : plot.top + 26;
  return `<line class="${kind}" x1="${at}" x2="${at}" y1="${plot.top}" y2="${plot.bottom}"/><text x="${left ? at - 4 : at + 4}" y="${high}" text-anchor="${left ? 'end' : 'start'}">${escape(words)}</text>`;
}

function jobMark(job: FirstSnowChart['jobs'][number], index: number, at: number, height: number, chance: number): string {
  const row = plot.bottom + 44 + index * jobRow;
  const left = at > (plot.left + plot.right) / 2;
  const words = `${job.label}: ${wordsOf(job.day)}, ${percent(chance)}`;
  return `<g class="job"><line x1="${at}" x2="${at}" y1="${height}" y2="${row - 4}"/><path d="M${at} ${height - 5}l5 5l-5 5l-5 -5z"/><text x="${left ? at - 6 : at + 6}" y="${row}" text-anchor="${left ? 'end' : 'start'}">${escape(words)}</text></g>`;
}

function document(title: string, description: string, height: number, content: string): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="first-snow-title first-snow-description" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}">
<title id="first-snow-title">${escape(title)}</title>
<desc id="first-snow-description">${escape(description)}</desc>
<style>
svg{background:#fff}text{font:12px system-ui,sans-serif;fill:#222}
.grid{stroke:#ccc;stroke-width:1}.curve{fill:none;stroke:#123f73;stroke-width:2.5}
.today{stroke:#222;stroke-width:1;stroke-dasharray:2 3}.median{stroke:#222;stroke-width:1;stroke-dasharray:8 4}
.job line{stroke:#7a3b00;stroke-width:1}.job path{fill:#7a3b00}
@media print{.curve,.job line{stroke:#000}.job path{fill:#000}}
</style>
${content}
</svg>
`;
}
