import { existsSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';

/** A single-mode PSPLIB instance (Kolisch & Sprecher 1996, EJOR 96:205–216) as its file states it, tasks from 0. */
export interface PsplibInstance {
  name: string;
  durations: number[];
  successors: number[][];
  demands: number[][];
  capacities: number[];
}

export interface Bound {
  criticalPath: number;
  lowerBound: number;
  bestMakespan: number;
  provenOptimal: boolean;
}

/** Reads the text of a `.sm` file; throws on a shape it does not know. */
export function parsePsplib(name: string, text: string): PsplibInstance {
  const lines = text.split(/\r?\n/);
  const count = Number(/^jobs .*:\s*(\d+)/m.exec(text)?.[1]);
  const rows = (title: RegExp, skip: number, length: number): number[][] => {
    const at = lines.findIndex((line) => title.test(line));
    if (at < 0) throw new Error(`${name}: no section ${title}`);
    return lines.slice(at + 1 + skip, at + 1 + skip + length).map((line) => line.trim().split(/\s+/).map(Number));
  };
  if (!Number.isInteger(count)) throw new Error(`${name}: no number of jobs`);
  const capacities = rows(/^RESOURCEAVAILABILITIES/, 1, 1)[0]!;
  const relations = rows(/^PRECEDENCE RELATIONS/, 1, count);
  const requests = rows(/^REQUESTS\/DURATIONS/, 2, count);
  for (const [i, row] of relations.entries()) {
    if (row[0] !== i + 1 || row[1] !== 1 || row.length !== 3 + row[2]!)
      throw new Error(`${name}: bad precedence row ${row.join(' ')}`);
  }
  for (const [i, row] of requests.entries()) {
    if (row[0] !== i + 1 || row.length !== 3 + capacities.length || row.some(Number.isNaN))
      throw new Error(`${name}: bad request row ${row.join(' ')}`);
  }
  return {
    name,
    durations: requests.map((row) => row[2]!),
    successors: relations.map((row) => row.slice(3).map((id) => id - 1)),
    demands: requests.map((row) => row.slice(3)),
    capacities,
  };
}

/** All instances of a folder, in order of group and number. */
export function readSet(folder: string): PsplibInstance[] {
  return readdirSync(folder)
    .filter((file) => file.endsWith('.sm'))
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }))
    .map((file) => parsePsplib(file.replace(/\.sm$/, ''), readFileSync(path.join(folder, file), 'utf8')));
}

/** The bounds file: one line per instance after the head. */
export function readBounds(file: string): Map<string, Bound> {
  const [, ...lines] = readFileSync(file, 'utf8').trim().split(/\r?\n/);
  return new Map(
    lines.map((line) => {
      const [name, criticalPath, lowerBound, bestMakespan, proven] = line.split(',');
      return [
        name!,
        {
          criticalPath: Number(criticalPath),
          lowerBound: Number(lowerBound),
          bestMakespan: Number(bestMakespan),
          provenOptimal: proven === '1',
        },
      ];
    }),
  );
}

/**
 * Folder of the reference data: `REFERENCE_DIR`, or the one beside the project (found from here upwards, as this may
 * run compiled).
 */
export function referenceDirectory(): string {
  if (process.env.REFERENCE_DIR) return process.env.REFERENCE_DIR;
  let root = import.meta.dirname;
  while (!existsSync(path.join(root, 'package-lock.json')) && path.dirname(root) !== root) root = path.dirname(root);
  return path.join(root, '../shared/reference');
}

/** Columns of the file of published results, and how they came about. */
export const SOLVERS: Record<string, string> = {
  cp_sat_8x900s: 'CP-SAT (8 cores, 900 s)',
  cp_optimizer_8x900s: 'CP Optimizer (8 cores, 900 s)',
  optalcp_4x600s: 'OptalCP (4 cores, 600 s)',
};

/** What exact solvers reached on each instance, by column; empty where the file says nothing. */
export function readSolverMakespans(file: string): Map<string, Record<string, number>> {
  const [head, ...lines] = readFileSync(file, 'utf8').trim().split(/\r?\n/);
  const columns = head!.split(',').slice(1);
  return new Map(
    lines.map((line) => {
      const [name, ...values] = line.split(',');
      return [
        name!,
        Object.fromEntries(columns.flatMap((column, k) => (values[k] ? [[column, Number(values[k])] as const] : []))),
      ];
    }),
  );
}
