/**
 * Planning off the event loop: a small pool of threads, so that requests are answered while plans are made. Threads
 * start when first needed and do not keep the process. Where the code is not compiled (in tests) the same work is
 * done on the spot.
 */
import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { EngineError } from '../engine/error.js';
import { doWork, type Answer, type Question, type WorkName, type WorkReply } from './planner-work.js';

interface Waiting {
  name: WorkName;
  question: unknown;
  signal: AbortSignal | undefined;
  resolve(answer: unknown): void;
  reject(error: unknown): void;
}

const cancelled = (): EngineError => new EngineError('cancelled', 'The planning was given up');

export class Planner {
  private readonly idle: Worker[] = [];
  private readonly busy = new Set<Worker>();
  private readonly queue: Waiting[] = [];
  private closed = false;

  /** @param thread the compiled thread's file; null: no threads, everything on the spot */
  constructor(
    private readonly thread: URL | null,
    private readonly most = Math.max(1, Math.min(2, availableParallelism() - 1)),
  ) {}

  /**
   * @param signal gives the work up, whether it waits or runs
   * @throws EngineError as the work; `cancelled` when it was given up or the planner has been closed
   */
  run<N extends WorkName>(name: N, question: Question<N>, signal?: AbortSignal): Promise<Answer<N>> {
    if (this.closed || signal?.aborted) return Promise.reject(cancelled());
    if (!this.thread) return Promise.resolve().then(() => doWork({ name, question }) as Answer<N>);
    return new Promise((resolve, reject) => {
      this.queue.push({ name, question, signal, resolve: resolve as (answer: unknown) => void, reject });
      this.next();
    });
  }

  /** Gives up all that waits or runs and ends the threads. */
  async close(): Promise<void> {
    this.closed = true;
    for (const one of this.queue.splice(0)) one.reject(cancelled());
    await Promise.all([...this.idle.splice(0), ...this.busy].map((worker) => worker.terminate()));
  }

  private next(): void {
    if (this.closed || this.queue.length === 0 || this.busy.size >= this.most) return;
    const work = this.queue.shift()!;
    if (work.signal?.aborted) {
      work.reject(cancelled());
      return this.next();
    }
    const worker = this.idle.pop() ?? this.start();
    this.busy.add(worker);
    // Only while it works does a thread keep the process.
    worker.ref();
    const done = (settle: () => void, keep: boolean): void => {
      worker.off('message', onReply).off('error', onFault).off('exit', onEnd);
      work.signal?.removeEventListener('abort', giveUp);
      this.busy.delete(worker);
      worker.unref();
      if (keep && !this.closed) this.idle.push(worker);
      else void worker.terminate();
      settle();
      this.next();
    };
    const onReply = (reply: WorkReply): void => done(() => ('answer' in reply ? work.resolve(reply.answer) : work.reject(faultOf(reply.fault))), true);
    const onFault = (error: Error): void => done(() => work.reject(error), false);
    const onEnd = (): void => done(() => work.reject(cancelled()), false);
    // A thread deep in a search hears nothing; ending it is the only way to stop it at once.
    const giveUp = (): void => done(() => work.reject(cancelled()), false);
    work.signal?.addEventListener('abort', giveUp, { once: true });
    worker.on('message', onReply).on('error', onFault).on('exit', onEnd);
    worker.postMessage({ name: work.name, question: work.question });
  }

  private start(): Worker {
    const worker = new Worker(this.thread!);
    worker.unref();
    // One that ends while idle is forgotten; why it ended is told to whoever it worked for.
    worker.on('error', () => {});
    worker.on('exit', () => {
      const at = this.idle.indexOf(worker);
      if (at >= 0) this.idle.splice(at, 1);
    });
    return worker;
  }
}

function faultOf({ code, message, path, stack }: Extract<WorkReply, { fault: unknown }>['fault']): Error {
  const error = code === null ? new Error(message) : new EngineError(code, message, path);
  if (stack !== undefined) error.stack = stack;
  return error;
}

const compiled = new URL('./planner-thread.js', import.meta.url);
const thread = import.meta.url.endsWith('.js') && existsSync(compiled) ? compiled : null;

/** The process's own, for those who wait for an answer. */
export const planner = new Planner(thread);

/** One thread more, for what nobody waits for: it must not stand in front of what somebody does. */
export const backgroundPlanner = (): Planner => new Planner(thread, 1);
