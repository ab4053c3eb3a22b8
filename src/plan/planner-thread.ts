/** A thread that plans: it knows the engine and nothing of the database. */
import { parentPort } from 'node:worker_threads';
import { EngineError } from '../engine/error.js';
import { doWork, type WorkReply, type WorkRequest } from './planner-work.js';

parentPort!.on('message', (request: WorkRequest) => {
  let reply: WorkReply;
  try {
    reply = { answer: doWork(request) };
  } catch (error) {
    const { message, stack } = error as Error;
    reply = { fault: { code: error instanceof EngineError ? error.code : null, message, path: error instanceof EngineError ? error.path : '', stack } };
  }
  parentPort!.postMessage(reply);
});
