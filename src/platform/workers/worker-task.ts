/**
 * Computations that a thread may be given, so that requests are answered meanwhile. Each is pure and takes and gives
 * plain data: what the structured clone carries over, so no class of ours, and amounts only where that is said. An area
 * declares its own in a file `works.ts`, which imports nothing that a thread would be long in loading.
 */
import { EngineError } from '../../engine/error.js';

export interface Progress {
  /** What is being done, in one word of the work's own. */
  stage: string;
  /** How much of that stage, 0 to 1. */
  share: number;
}

/** Called by the work as it goes on; costs little, may be called often. */
export type Report = (progress: Progress) => void;

export interface WorkerTask<Q, A> {
  /** The module that declares it, from the folder of the sources, without its ending. */
  readonly module: string;
  readonly name: string;
  /** It may take seconds: what takes a moment must not wait behind it. */
  readonly long: boolean;
  /** Its question or answer holds amounts, which are packed on the way. */
  readonly amounts: boolean;
  readonly run: (question: Q, report: Report) => A;
}

/** Whatever its question is: each is given its own, as its work's type says. */
type Computation = (question: never, report: Report) => unknown;
type WorkerTasks<F extends Record<string, Computation>> = {
  readonly [K in keyof F]: WorkerTask<Parameters<F[K]>[0], ReturnType<F[K]>>;
};

const sources = new URL('../../', import.meta.url).href;

/**
 * @param where the declaring module's `import.meta.url`; it exports what comes back as `works`
 * @param computations by name: those done in a moment, those that may take seconds
 * @param options.amounts true: questions or answers hold amounts (`Decimal`)
 */
export function defineWorkerTasks<
  S extends Record<string, Computation> = Record<never, never>,
  L extends Record<string, Computation> = Record<never, never>,
>(
  where: string,
  computations: { short?: S; long?: L },
  { amounts = false }: { amounts?: boolean } = {},
): WorkerTasks<S & L> {
  const module = where.slice(sources.length).replace(/\.[jt]s$/, '');
  const declared = (some: Record<string, Computation> = {}, long: boolean) =>
    Object.entries(some).map(([name, run]) => [name, { module, name, long, amounts, run }]);
  return Object.fromEntries([
    ...declared(computations.short, false),
    ...declared(computations.long, true),
  ]) as WorkerTasks<S & L>;
}

/** A work as it is sent to a thread, and what comes back. */
export interface WorkRequest {
  module: string;
  name: string;
  question: unknown;
}
export type WorkReply =
  | { progress: Progress }
  | { answer: unknown }
  | { fault: { code: string | null; message: string; path: string; stack: string | undefined } };

export const faultFrom = (error: unknown): WorkReply => {
  const { message, stack } = error as Error;
  return {
    fault: {
      code: error instanceof EngineError ? error.code : null,
      message,
      path: error instanceof EngineError ? error.path : '',
      stack,
    },
  };
};

export function faultOf({ code, message, path, stack }: Extract<WorkReply, { fault: unknown }>['fault']): Error {
  const error = code === null ? new Error(message) : new EngineError(code, message, path);
  if (stack !== undefined) error.stack = stack;
  return error;
}
