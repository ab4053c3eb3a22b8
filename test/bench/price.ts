/**
 * `npm run bench:price -- [--world FILE] [--markets 1500] [--seed 1] [--machines 12000] [--json]`: how far the price can be
 * believed. Coverage and error of the predicted price in made-up markets; the asks of a few situations; what the asks
 * lose where buyers behave otherwise; whether the rate of enquiries is learnt; what the advice on offers earns. A world
 * file is described in `price/worlds.md`. With `--json` each line is one measure.
 */
import fs from 'node:fs';
import { parseArgs } from 'node:util';
import { z } from 'zod';
import { askRows } from './price/ask-cases.js';
import { type IntervalRow, intervalRows } from './price/intervals.js';
import { offersRows } from './price/offers.js';
import { rateRow } from './price/rates.js';
import { regretRow, usualTruths } from './price/truths.js';
import { World } from './price/worlds.js';

const usualWorlds: z.input<typeof World>[] = [
  { world: 'beliefs' },
  { world: 'drift', drift: { perYear: 0.03, deviation: 0.03, walkPerYear: 0.05 } },
  { world: 'fixed noise', noise: [0.12, 0.2, 0.4] },
];
const usualRates = [1, 2, 4].flatMap((trueRate) => [
  { trueRate, listings: 10, offersRecorded: false, elasticity: 4 },
  { trueRate, listings: 60, offersRecorded: false, elasticity: 4 },
  { trueRate, listings: 30, offersRecorded: true, elasticity: 4 },
]);

export function main(args: string[]): void {
  const { values } = parseArgs({
    args,
    options: {
      world: { type: 'string' },
      markets: { type: 'string', default: '1500' },
      seed: { type: 'string', default: '1' },
      machines: { type: 'string', default: '12000' },
      json: { type: 'boolean', default: false },
    },
  });
  const [markets, seed, machines] = [
    count(values.markets, 'markets'),
    count(values.seed, 'seed'),
    count(values.machines, 'machines'),
  ];
  const worlds = values.world === undefined ? usualWorlds.map((world) => World.parse(world)) : readWorlds(values.world);
  const print = <Row extends object>(row: Row, line: (row: Row) => string): void =>
    console.log(values.json ? JSON.stringify(row) : line(row));
  const heading = (text: string): void => {
    if (!values.json) console.log(text);
  };

  heading(`\nIntervals that should hold four in five, ${markets} markets a line; errors are mean absolute errors of the log
world          comparables  noise  coverage  error   median  least squares  before: coverage  error`);
  for (const world of worlds) for (const row of intervalRows(world, markets, seed)) print(row, intervalLine);

  heading('\nAsks\ncase                                    comparables   likely      ask   ask ÷ likely');
  for (const { plan: _, ...row } of askRows())
    print(
      row,
      (one) =>
        `${one.case.padEnd(39)} ${String(one.comparables).padStart(11)} ${one.likely.toFixed(0).padStart(8)} ` +
        `${one.ask.toFixed(0).padStart(8)} ${(one.ask / one.likely).toFixed(2).padStart(14)}`,
    );

  heading(
    '\nWhat the asks lose against the best for each way buyers may behave, in percent ' +
      'of net proceeds\ntruth                    mean   worst case',
  );
  for (const truth of worlds.find((world) => world.truths)?.truths ?? usualTruths)
    print(
      regretRow(truth),
      (one) =>
        `${one.truth.padEnd(22)} ${one.percent.toFixed(2).padStart(6)} ${one.worstPercent.toFixed(2).padStart(12)}`,
    );

  heading(
    '\nEnquiries a week at the height of demand, learnt from own listings (60 shops a line)\ntrue rate ' +
      ' elasticity  listings  offers recorded   learnt: mean  mean error  elasticity',
  );
  for (const { trueRate, listings, offersRecorded, elasticity } of worlds.find((world) => world.rates)?.rates ??
    usualRates)
    print(
      rateRow(trueRate, listings, offersRecorded, seed, 60, elasticity),
      (one) =>
        `${one.trueRate.toFixed(1).padStart(9)} ${one.trueElasticity.toFixed(1).padStart(11)} ` +
        `${String(one.listings).padStart(9)} ${(one.offersRecorded ? 'yes' : 'no').padStart(16)} ` +
        `${one.learntRate.toFixed(2).padStart(14)} ${`${(100 * one.meanError).toFixed(0)} %`.padStart(11)} ` +
        `${one.learntElasticity.toFixed(1).padStart(11)}`,
    );

  heading(
    `\nRules for offers, ${machines} machines, the same buyers for each\nrule               share of full Bayes   mean net`,
  );
  for (const row of offersRows(machines, seed))
    print(
      row,
      (one) => `${one.policy.padEnd(18)} ${one.share.toFixed(4).padStart(19)} ${one.meanNet.toFixed(2).padStart(10)}`,
    );
}

function intervalLine(row: IntervalRow): string {
  return [
    row.world.padEnd(14),
    String(row.comparables).padStart(11),
    (row.noise === null ? 'own' : row.noise.toFixed(2)).padStart(6),
    row.coverage80.toFixed(3).padStart(9),
    row.error.toFixed(4).padStart(7),
    row.medianError.toFixed(4).padStart(7),
    row.leastSquaresError.toFixed(4).padStart(14),
    row.formerCoverage80.toFixed(3).padStart(17),
    row.formerError.toFixed(4).padStart(7),
  ].join(' ');
}

function readWorlds(file: string): World[] {
  const given: unknown = JSON.parse(fs.readFileSync(file, 'utf8'));
  const parsed = z
    .array(World)
    .min(1)
    .safeParse(Array.isArray(given) ? given : [given]);
  if (!parsed.success) throw new Error(`${file} is not a world file:\n${z.prettifyError(parsed.error)}`);
  return parsed.data;
}

function count(given: string, name: string): number {
  const value = Number(given);
  if (!Number.isInteger(value) || value < 1) throw new Error(`--${name} must be a whole number from 1, not ${given}`);
  return value;
}
