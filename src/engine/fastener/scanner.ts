import { EngineError } from '../error.js';

/** Reads a text from left to right; offsets count characters from 0. */
export class Scanner {
  at = 0;

  constructor(readonly text: string) {}

  /** Matches `pattern` (case ignored) exactly here and moves past it; null, without moving, if it does not match. */
  take(pattern: string): RegExpExecArray | null {
    const regex = new RegExp(pattern, 'iy');
    regex.lastIndex = this.at;
    const match = regex.exec(this.text);
    if (match) this.at = regex.lastIndex;
    return match;
  }

  get done(): boolean {
    return this.at >= this.text.length;
  }

  /** What stands at `at`, for a message: the word up to the next space or comma. */
  wordAt(at = this.at): string {
    return /^[^\s,]+/.exec(this.text.slice(at))?.[0] ?? this.text.slice(at, at + 1);
  }

  /** @throws EngineError `fastener-syntax`; its path is the offset, and the message says what stands there. */
  fail(problem: string, at = this.at): never {
    const found = at >= this.text.length ? 'the end' : `'${this.wordAt(at)}'`;
    throw new EngineError(
      'fastener-syntax',
      `${problem}: found ${found} at character ${at + 1} of '${this.text}'`,
      `${at}`,
    );
  }
}
