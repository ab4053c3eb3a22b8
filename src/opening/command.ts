import path from 'node:path';
import { StartError } from '../platform/settings.js';

// The database driver warns of the way the ORM sends several queries of one transaction; nobody here can act on it.
process.noDeprecation = true;

/** A line of progress, on stderr so that a command's own output stays clean. */
export function say(line: string): void {
  process.stderr.write(`· ${line}\n`);
}

/** Runs a command with its arguments and ends the process with its exit code; a StartError is shown without a stack. */
export async function runCommand(command: (args: string[]) => Promise<void>): Promise<void> {
  try {
    await command(process.argv.slice(2));
  } catch (error) {
    console.error(error instanceof StartError ? error.message : error);
    process.exitCode = error instanceof StartError ? error.exitCode : 1;
  }
}

/** A file named on the command line, from where the person stood: npm changes to the project's folder first. */
export function namedFile(name: string): string {
  return path.resolve(process.env.INIT_CWD ?? process.cwd(), name);
}
