/** A thread that computes: it knows the works that areas declare, and nothing of the database or of requests. */
import os from 'node:os';
import { parentPort, workerData } from 'node:worker_threads';
import { required } from '../../engine/look-up.js';
import { amountsPacked, amountsUnpacked } from './amounts.js';
import { faultFrom, type Progress, type WorkerTask, type WorkReply, type WorkRequest } from './worker-task.js';

/** A new figure is of no use to anybody sooner. */
const REPORT_MILLISECONDS = 100;

// Where a priority can be given to one thread (on Linux 0 means the calling one), requests come before computations:
// on a machine with few cores both would else have the same share of them. Elsewhere it would slow the whole process.
if (process.platform === 'linux') stepBack((workerData as { niceness: number }).niceness);

/** Never forwards: a process that was started at a low priority stays there. */
function stepBack(niceness: number): void {
  try {
    if (niceness > os.getPriority(0)) os.setPriority(0, niceness);
  } catch {
    // A courtesy, no condition: where it is not granted the work is done all the same.
  }
}

const port = required(parentPort, 'port to the service: this file runs in a thread');
const reply = (message: WorkReply): void => port.postMessage(message);

port.on('message', ({ module, name, question }: WorkRequest) => {
  void compute(module, name, question).then(
    (answer) => reply({ answer }),
    (error: unknown) => reply(faultFrom(error)),
  );
});

async function compute(module: string, name: string, question: unknown): Promise<unknown> {
  const { workerTasks } = (await import(new URL(`../../${module}.js`, import.meta.url).href)) as {
    workerTasks: Record<string, WorkerTask<unknown, unknown>>;
  };
  let told = -Infinity;
  const report = (progress: Progress): void => {
    if (performance.now() - told < REPORT_MILLISECONDS) return;
    told = performance.now();
    reply({ progress });
  };
  const work = required(workerTasks[name], `worker task ${name}`);
  return work.amounts ? amountsPacked(work.run(amountsUnpacked(question), report)) : work.run(question, report);
}
