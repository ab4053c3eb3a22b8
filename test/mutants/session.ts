/** A process that runs specs under mutants, ended and started anew when one hangs. */
import { type ChildProcess, spawn } from 'node:child_process';
import path from 'node:path';
import { projectRoot as root } from '../../src/platform/launch/root.js';
import type { Mutant } from './operators.js';

export type Verdict = { kind: 'survived' } | { kind: 'killed'; spec: string; detail: string } | { kind: 'hung' };

type Message = { ready: true } | { failing: { spec: string; detail: string } | null } | { error: string };

/** Loaded modules of past mutants stay in a process: it is started anew before they fill the memory. */
const RUNS_A_PROCESS = 60;

export class Session {
  private child: ChildProcess | undefined;
  private runs = 0;

  /**
   * @param specs absolute paths, in the order to try them
   * @param milliseconds from when on it counts as hanging
   * @throws Error when the specs could not be run at all
   */
  async run(specs: readonly string[], mutant: Mutant | null, milliseconds: number): Promise<Verdict> {
    if (this.runs++ >= RUNS_A_PROCESS) await this.close();
    const child = (this.child ??= await this.start());
    const answer = this.next(child, milliseconds);
    child.send({ specs, mutant: mutant && { ...mutant, path: path.join(root, mutant.file) } });
    const message = await answer;
    // A mutant that ends the process is as dead as one that never ends.
    if (message === 'hung' || message === 'ended') {
      await this.close();
      return { kind: 'hung' };
    }
    if ('error' in message) throw new Error(message.error);
    const failing = 'failing' in message ? message.failing : null;
    return failing ? { kind: 'killed', ...failing } : { kind: 'survived' };
  }

  async close(): Promise<void> {
    const { child } = this;
    this.child = undefined;
    this.runs = 0;
    if (!child || child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGKILL');
    await ended;
  }

  private async start(): Promise<ChildProcess> {
    const child = spawn(
      process.execPath,
      ['--experimental-vm-modules', '--no-warnings', path.join(root, 'test/mutants/child.mjs')],
      { cwd: root, stdio: ['ignore', 'ignore', 'inherit', 'ipc'] },
    );
    const first = await this.next(child, 120_000);
    if (typeof first !== 'object' || !('ready' in first)) throw new Error('The process for the mutants does not start');
    return child;
  }

  private next(child: ChildProcess, milliseconds: number): Promise<Message | 'hung' | 'ended'> {
    return new Promise((resolve) => {
      const done = (message: Message | 'hung' | 'ended') => {
        clearTimeout(timer);
        child.off('message', heard).off('exit', exited);
        resolve(message);
      };
      const heard = (message: unknown) => done(message as Message);
      const exited = () => done('ended');
      const timer = setTimeout(() => done('hung'), milliseconds);
      child.on('message', heard).on('exit', exited);
    });
  }
}
