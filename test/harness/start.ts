/** The service as a process of its own, started as a person starts it. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { projectRoot } from '../../src/platform/launch/root.js';

export class Start {
  out = '';
  err = '';
  private readonly child: ChildProcess;
  private readonly ended: Promise<unknown[]>;

  constructor(dataFolder: string, args: string[] = [], env: Record<string, string> = {}) {
    const { PATH = '', HOME = '' } = process.env;
    this.child = spawn(process.execPath, [path.join(projectRoot, 'src/platform/launch/start.mjs'), ...args], {
      env: { PATH, HOME, PORT: '0', LOG_LEVEL: 'silent', DATA_DIR: dataFolder, ...env },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.child.stdout!.on('data', (chunk) => (this.out += chunk));
    this.child.stderr!.on('data', (chunk) => (this.err += chunk));
    this.ended = once(this.child, 'close');
  }

  /** @returns its exit code; null when a signal ended it */
  async end(): Promise<number | null> {
    return (await this.ended)[0] as number | null;
  }

  stop(signal: NodeJS.Signals): Promise<number | null> {
    this.child.kill(signal);
    return this.end();
  }

  /** The owner's key, as shown at the first start. */
  get ownerKey(): string {
    return /Owner key (fw_\w+_[\w-]+)/.exec(this.out)![1]!;
  }

  /** Where it serves, once it has greeted. */
  async address(): Promise<string> {
    for (;;) {
      const address = /REST\s+(http:\/\/\S+)\/v1[^]*Ctrl-C stops/.exec(this.out)?.[1];
      if (address) return address;
      if (this.child.exitCode !== null || this.child.signalCode !== null)
        throw new Error(`It ended:\n${this.out}\n${this.err}`);
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  }
}
