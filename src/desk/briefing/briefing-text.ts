/** The briefing as a person reads it at the prompt. */
import Table from 'cli-table3';
import { Decimal } from 'decimal.js';
import { shortWorkTime } from '../../engine/durations.js';
import { minorUnits } from '../../engine/money/index.js';
import type { BriefingRead } from './briefing.queries.js';

const kindWords: Record<string, string> = {
  singleStageThrower: 'single-stage thrower',
  twoStageThrower: 'two-stage thrower',
  walkBehindMower: 'walk-behind mower',
  other: 'other machine',
};
const statusWords: Record<string, string> = {
  intake: 'intake',
  diagnosed: 'diagnosed',
  inWork: 'in work',
  finished: 'finished',
  offered: 'offered',
};

/** No drawn frame: rows stay readable in any terminal, in a log and when copied. */
const plain = {
  chars: {
    top: '',
    'top-mid': '',
    'top-left': '',
    'top-right': '',
    bottom: '',
    'bottom-mid': '',
    'bottom-left': '',
    'bottom-right': '',
    left: '  ',
    'left-mid': '',
    mid: '',
    'mid-mid': '',
    right: '',
    'right-mid': '',
    middle: '  ',
  },
  style: { 'padding-left': 0, 'padding-right': 0, head: [], border: [] },
};

const percent = (probability: number | null): string =>
  probability === null ? '–' : `${Math.round(probability * 100)} %`;
const short = (text: string, most: number): string => (text.length <= most ? text : `${text.slice(0, most - 1)}…`);

/**
 * @param briefing as `readBriefing` gives it
 * @returns lines of at most about 130 columns
 */
export function briefingText(briefing: BriefingRead): string {
  const money = (value: unknown): string =>
    value === null || value === undefined ? '–' : new Decimal(String(value)).toFixed(minorUnits(briefing.currency));
  const lines: string[] = [
    `Briefing for ${briefing.shopName}, ${briefing.today} (amounts in ${briefing.currency})`,
    '',
  ];

  const { bench } = briefing;
  const isToday = bench.day === briefing.today;
  lines.push(`1. Work on ${isToday ? 'today' : bench.day}${bench.note ? ` (${bench.note.replace(/\.$/, '')})` : ''}`);
  // Whoever works alone knows who it is.
  const isShared = new Set(bench.tasks.flatMap((task) => task.assignees.map((one) => one.personId))).size > 1;
  if (bench.tasks.length > 0) {
    const table = new Table({
      ...plain,
      head: ['Job', 'Machine', 'Task', 'For', ...(isShared ? ['Who'] : []), 'Why now'],
    });
    for (const task of bench.tasks)
      table.push([
        String(task.jobNumber),
        short(task.machine, 24),
        short(task.name, 34),
        shortWorkTime(task.minutes),
        ...(isShared ? [task.assignees.map((one) => one.name).join(', ')] : []),
        short(task.reasons.join('; '), 48),
      ]);
    lines.push(table.toString());
    for (const task of bench.tasks)
      for (const what of task.prepare)
        lines.push(`  Job ${task.jobNumber}, ${short(task.name.toLowerCase(), 34)}: ${what}`);
  }

  lines.push('', '2–4. Open jobs: when done, what it cost, what to ask');
  if (briefing.jobs.length === 0) lines.push('  No job is open.');
  else {
    const table = new Table({
      ...plain,
      head: ['Job', 'Machine', 'State', 'Likely by', '4 in 5 by', 'Ready', 'Paid', 'Full cost', 'Ask', 'Waits for'],
      colAligns: ['left', 'left', 'left', 'left', 'left', 'right', 'right', 'right', 'right', 'left'],
    });
    for (const job of briefing.jobs) {
      table.push([
        String(job.number),
        short(job.title, 24),
        statusWords[job.status] ?? job.status,
        ...(job.status === 'finished' || job.status === 'offered'
          ? ['done', '']
          : [job.p50Date ?? '–', job.p80Date ?? '–']),
        percent(job.probabilityBeforeSnow),
        money(job.cashCost),
        money(job.fullCost),
        `${money(job.ask)}${job.askBasedOn === 'cost' ? '*' : ''}`,
        short(job.waitsFor ?? '', 38),
      ]);
    }
    lines.push(
      table.toString(),
      '  Likely by: an even chance to be finished by then; 4 in 5 by: the day to promise.',
      "  Ready: the chance that it is finished before the first snow, less the shop's margin of days.",
    );
    if (briefing.jobs.some((job) => job.askBasedOn === 'cost'))
      lines.push('  * What it must bring back, not what buyers pay: no price of such a machine is on record.');
  }

  lines.push('', '5. What to pay for the next one, at most');
  if (briefing.bids.length === 0) lines.push('  Unknown: no comparables and no finished jobs to compute from.');
  for (const bid of briefing.bids)
    lines.push(
      `  ${kindWords[bid.kind] ?? bid.kind}: ${money(bid.highestBid)} (it should bring about ${money(bid.expectedPrice)})`,
    );

  lines.push('', '6. Before it snows');
  if (briefing.readyBy === null) lines.push('  Unknown.');
  else {
    lines.push(
      `  Median first snow ${briefing.firstSnowMedian}; be ready by ${briefing.readyBy}. ` +
        `${briefing.readyCount} of ${briefing.inSeasonCount} open throwers will likely be.`,
    );
    for (const one of briefing.capacity) lines.push(`  ${fitWords(one, kindWords[one.kind] ?? one.kind)}`);
    lines.push(`  What binds: ${briefing.bottleneck}.`);
  }
  if (briefing.notes.length > 0)
    lines.push('', 'Not known, or taken for granted', ...briefing.notes.map((note) => `  ${note}`));
  return lines.join('\n');
}

function fitWords(
  { moreThatFit, probabilities, lastFinishedDate, nextFinishDate }: BriefingRead['capacity'][number],
  kind: string,
): string {
  const next = nextFinishDate ? ', and one more than that less often' : '';
  if (moreThatFit === 0)
    return (
      `No more ${kind} would be finished in time four times in five` +
      (probabilities[0] ? `: one would be with a chance of ${percent(probabilities[0])}.` : '.')
    );
  return (
    `${moreThatFit} more ${kind}${moreThatFit === 1 ? '' : 's'} would be finished in time four times in five, ` +
    `the last about ${lastFinishedDate}${next}.`
  );
}
