/**
 * Computing off the event loop: a small pool of threads, so that requests are answered while plans are made. Threads
 * start when first needed and do not keep the process. Where the code is not compiled (in tests) the same work is
 * done on the spot.
 */
import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { EngineError } from '../../engine/error.js';
import { required } from '../../engine/look-up.js';
import { amountsPacked, amountsUnpacked } from './amounts.js';
import { faultOf, type Progress, type WorkerTask, type WorkReply, type WorkRequest } from './worker-task.js';

export interface RunOptions {
  /** Gives the work up, whether it waits or runs. */
  signal?: AbortSignal;
  /** Told now and then how far it is. */
  onProgress?: (progress: Progress) => void;
}

interface Waiting extends RunOptions {
  request: WorkRequest;
  /** Gives it up while it still waits. */
  leave?: () => void;
  resolve(answer: unknown): void;
  reject(error: unknown): void;
}

export interface PoolSettings {
  /** The compiled thread's file; null: no threads, everything on the spot. */
  thread: URL | null;
  /** Threads at most. */
  most: number;
  /** How far behind requests the threads stand, 0 to 19, where the system knows a thread's priority. */
  niceness: number;
}

const cancelled = (): EngineError => new EngineError('cancelled', 'The computation was given up');

export interface Threads {
  /** @throws EngineError as the work; `cancelled` when it was given up or the threads have been closed */
  run<Q, A>(work: WorkerTask<Q, A>, question: Q, options?: RunOptions): Promise<A>;
  /** Gives up all that waits or runs and ends the threads. */
  close(): Promise<void>;
}

export class ThreadPool implements Threads {
  private readonly idle: Worker[] = [];
  private readonly busy = new Set<Worker>();
  private readonly ending = new Set<Promise<unknown>>();
  private readonly queue: Waiting[] = [];
  private closed = false;

  constructor(private readonly settings: PoolSettings) {}

  run<Q, A>(work: WorkerTask<Q, A>, question: Q, options: RunOptions = {}): Promise<A> {
    if (this.closed || options.signal?.aborted) return Promise.reject(cancelled());
    if (!this.settings.thread)
      return Promise.resolve().then(() => work.run(question, options.onProgress ?? (() => {})));
    return new Promise((resolve, reject) => {
      const request = {
        module: work.module,
        name: work.name,
        question: work.amounts ? amountsPacked(question) : question,
      };
      const waiting: Waiting = {
        ...options,
        request,
        resolve: (answer) => resolve((work.amounts ? amountsUnpacked(answer) : answer) as A),
        reject,
      };
      waiting.leave = () => {
        this.queue.splice(this.queue.indexOf(waiting), 1);
        reject(cancelled());
      };
      options.signal?.addEventListener('abort', waiting.leave, { once: true });
      this.queue.push(waiting);
      this.next();
    });
  }

  async close(): Promise<void> {
    this.closed = true;
    for (const one of this.queue.splice(0)) one.reject(cancelled());
    for (const worker of [...this.idle.splice(0), ...this.busy]) this.end(worker);
    await Promise.all(this.ending);
  }

  private next(): void {
    if (this.closed || this.busy.size >= this.settings.most) return;
    const work = this.queue.shift();
    if (!work) return;
    if (work.leave) work.signal?.removeEventListener('abort', work.leave);
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
      else this.end(worker);
      settle();
      this.next();
    };
    const onReply = (reply: WorkReply): void => {
      if ('progress' in reply) work.onProgress?.(reply.progress);
      else done(() => ('answer' in reply ? work.resolve(reply.answer) : work.reject(faultOf(reply.fault))), true);
    };
    const onFault = (error: Error): void => done(() => work.reject(error), false);
    const onEnd = (): void => done(() => work.reject(cancelled()), false);
    // A thread deep in a search hears nothing; ending it is the only way to stop it at once.
    const giveUp = (): void => done(() => work.reject(cancelled()), false);
    work.signal?.addEventListener('abort', giveUp, { once: true });
    worker.on('message', onReply).on('error', onFault).on('exit', onEnd);
    try {
      worker.postMessage(work.request);
    } catch (error) {
      // A question that is no plain data never set out; the thread is as idle as before.
      done(() => work.reject(error), true);
    }
  }

  private end(worker: Worker): void {
    const ended = worker.terminate().finally(() => this.ending.delete(ended));
    this.ending.add(ended);
  }

  private start(): Worker {
    const file = required(this.settings.thread, 'file of a thread: it is computed on the spot');
    const worker = new Worker(file, { workerData: { niceness: this.settings.niceness } });
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

const compiled = new URL('./thread.js', import.meta.url);
const thread = import.meta.url.endsWith('.js') && existsSync(compiled) ? compiled : null;

/** For those who wait for an answer; what takes a moment has a thread of its own. */
export function askedThreads(): Threads {
  const short = new ThreadPool({ thread, most: 1, niceness: 0 });
  const long = new ThreadPool({ thread, most: Math.max(1, Math.min(2, availableParallelism() - 1)), niceness: 5 });
  return {
    run: (work, question, options) => (work.long ? long : short).run(work, question, options),
    close: async () => void (await Promise.all([short.close(), long.close()])),
  };
}

/** One thread more, for what nobody waits for: it must not stand in front of what somebody does. */
export const backgroundThreads = (): Threads => new ThreadPool({ thread, most: 1, niceness: 15 });

/** The same works on the spot, for a process that answers nobody meanwhile. */
export const noThreads: Threads = new ThreadPool({ thread: null, most: 0, niceness: 0 });
