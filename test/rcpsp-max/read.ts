import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import type { LagProject } from '../../src/engine/schedule/solver/project.js';

export interface LagInstance extends LagProject {
  name: string;
}

/**
 * Reads an RCPSP/max instance in the format of ProGen/max (Schwindt 1998): a head with the number of tasks and resources,
 * then per task its number, modes, successors and a bracketed lag for each; then per task its length and demands; then the
 * capacities. Lags are between starts. The first and last task are the project's begin and end.
 */
export function parseLagInstance(name: string, text: string): LagInstance {
  const rows = text
    .trim()
    .split(/\r?\n/)
    .map((line) => line.trim().split(/\s+/));
  const [tasks, resources] = rows[0]!.map(Number) as [number, number];
  const count = tasks + 2;
  if (rows.length !== 2 * count + 2) throw new Error(`${name}: ${rows.length} lines for ${tasks} tasks`);
  const lags = rows.slice(1, count + 1).flatMap((row, i) => {
    const successors = Number(row[2]);
    if (Number(row[0]) !== i || row[1] !== '1' || row.length !== 3 + 2 * successors)
      throw new Error(`${name}: bad row ${row.join(' ')}`);
    return Array.from({ length: successors }, (_, k) => ({
      from: i,
      to: Number(row[3 + k]),
      minutes: Number(/^\[(-?\d+)\]$/.exec(row[3 + successors + k]!)?.[1]),
    }));
  });
  const work = rows.slice(count + 1, 2 * count + 1).map((row) => row.map(Number));
  const instance = {
    name,
    lags,
    durations: work.map((row) => row[2]!),
    demands: work.map((row) => row.slice(3)),
    capacities: rows.at(-1)!.map(Number),
  };
  const wrong = (value: number): boolean => !Number.isInteger(value);
  if (
    lags.some((lag) => wrong(lag.to) || wrong(lag.minutes) || lag.to < 0 || lag.to >= count) ||
    work.some((row, i) => row[0] !== i || row.length !== 3 + resources || row.some(wrong)) ||
    instance.capacities.length !== resources
  )
    throw new Error(`${name}: not a whole number, or one missing`);
  return instance;
}

/** All instances of a folder by number. */
export function readLagSet(folder: string): LagInstance[] {
  return readdirSync(folder)
    .filter((file) => /\.sch$/i.test(file))
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }))
    .map((file) =>
      parseLagInstance(file.replace(/\.sch$/i, '').toLowerCase(), readFileSync(path.join(folder, file), 'utf8')),
    );
}

/** Whether each instance can be solved, and its optimal makespan (null when it cannot). */
export function readLagBounds(file: string): Map<string, number | null> {
  const [, ...lines] = readFileSync(file, 'utf8').trim().split(/\r?\n/);
  return new Map(
    lines.map((line) => {
      const [name, solvable, makespan] = line.split(',');
      return [name!, solvable === '1' ? Number(makespan) : null];
    }),
  );
}
