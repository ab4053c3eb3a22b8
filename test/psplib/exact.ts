import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { Worker } from 'node:worker_threads';

/** What an exact solver says of one MiniZinc model. */
export interface ExactResult {
  /** `OPTIMAL_SOLUTION`, `UNSATISFIABLE`, `SATISFIED` (stopped early), `UNKNOWN`. */
  status: string;
  /** The last solution's output variables. */
  output: Record<string, unknown> | undefined;
  /** Every solution as it came, with the milliseconds since the model was handed over. */
  found: { milliseconds: number; output: Record<string, unknown> }[];
  milliseconds: number;
}

/**
 * The package's browser worker, run in a Node worker thread. It speaks through `postMessage` and `addEventListener`; the
 * compiled WebAssembly is handed in, since compiling it takes far longer than any of these models.
 */
const SHIM = `
const { parentPort, workerData } = require('node:worker_threads');
globalThis.require = require;
globalThis.postMessage = (message) => parentPort.postMessage(message);
globalThis.addEventListener = (type, listener) => { if (type === 'message') parentPort.on('message', (data) => listener({ data })); };
globalThis.__filename = workerData.script;
globalThis.__dirname = require('node:path').dirname(workerData.script);
const instantiate = WebAssembly.instantiate;
WebAssembly.instantiate = async (_, imports) => ({ module: workerData.module, instance: await instantiate(workerData.module, imports) });
require('node:vm').runInThisContext(require('node:fs').readFileSync(workerData.script, 'utf8'), workerData.script);
`;

// The Node types of this version do not name WebAssembly.
const { compile } = (globalThis as unknown as { WebAssembly: { compile(bytes: Uint8Array): Promise<object> } })
  .WebAssembly;
let compiled: Promise<object> | undefined;

/**
 * Solves a MiniZinc model with Chuffed, in a fresh worker each time: a worker used twice has been seen to give wrong statuses.
 * @throws Error when the solver reports one.
 */
export async function solveExact(
  model: string,
  data: Record<string, unknown>,
  timeLimitMilliseconds = 20000,
): Promise<ExactResult> {
  const hasData = Object.keys(data).length > 0;
  const resolve = createRequire(import.meta.url).resolve;
  const wasm = resolve('minizinc/minizinc.wasm');
  compiled ??= compile(readFileSync(wasm));
  const worker = new Worker(SHIM, {
    eval: true,
    workerData: { script: resolve('minizinc/minizinc-worker.js'), module: await compiled },
  });
  try {
    return await new Promise<ExactResult>((done, fail) => {
      const result: ExactResult = { status: 'UNKNOWN', output: undefined, found: [], milliseconds: 0 };
      let begun = 0;
      worker.on('error', fail);
      worker.on('message', (message: { type: string; [key: string]: unknown }) => {
        switch (message.type) {
          case 'ready':
            begun = performance.now();
            worker.postMessage({
              jsonStream: true,
              files: { 'model.mzn': model, ...(hasData ? { 'data.json': JSON.stringify(data) } : {}) },
              args: [
                '-i',
                '--output-mode',
                'json',
                '--solver',
                'chuffed',
                '-f',
                '--time-limit',
                String(timeLimitMilliseconds),
                'model.mzn',
                ...(hasData ? ['data.json'] : []),
              ],
            });
            break;
          case 'solution':
            result.status = 'SATISFIED';
            result.output = (message.output as { json: Record<string, unknown> }).json;
            result.found.push({ milliseconds: performance.now() - begun, output: result.output });
            break;
          case 'status':
            result.status = String(message.status);
            break;
          case 'error':
            fail(new Error(String(message.message)));
            break;
          case 'exit':
            result.milliseconds = performance.now() - begun;
            done(result);
        }
      });
      worker.postMessage({ wasmURL: wasm, dataURL: resolve('minizinc/minizinc.data') });
    });
  } finally {
    await worker.terminate();
  }
}
