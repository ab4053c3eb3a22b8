/** Places that are few, shared out fairly: none who asks can hold more than a share, however much they ask at once. */
import { Busy, TooMany } from '../errors.js';

export interface TurnsSettings {
  /** Works done at once. */
  places: number;
  /** Of those, at most this many for one asker. */
  share: number;
  /** Works of one asker that may wait. */
  waiting: number;
  /** How long a work may wait. */
  patienceMilliseconds: number;
}

interface Waiting {
  begin(): void;
}

export class Turns {
  private busy = 0;
  private readonly held = new Map<string, number>();
  /** Whoever asked first among those who wait stands first; who has been served goes to the end. */
  private readonly queues = new Map<string, Waiting[]>();

  constructor(private readonly settings: TurnsSettings) {}

  /**
   * @param asker an access key's id; whatever has none is the service's own, of which there is little, and takes no place
   * @throws TooMany when the asker has too much waiting, Busy when its turn did not come in time
   */
  async run<T>(asker: string | null, work: () => Promise<T>): Promise<T> {
    if (asker === null) return work();
    await this.enter(asker);
    try {
      return await work();
    } finally {
      this.leave(asker);
    }
  }

  /** Works that wait, of all askers. */
  get waiting(): number {
    let count = 0;
    for (const queue of this.queues.values()) count += queue.length;
    return count;
  }

  private async enter(asker: string): Promise<void> {
    if (this.busy < this.settings.places && this.heldBy(asker) < this.settings.share) {
      this.take(asker);
      return;
    }
    const queue = this.queues.get(asker) ?? [];
    if (queue.length >= this.settings.waiting)
      throw new TooMany('too-much-at-once', 'This key has too much under way at once; send less at a time.');
    this.queues.set(asker, queue);
    await new Promise<void>((resolve, reject) => {
      const waiting: Waiting = {
        begin: () => {
          clearTimeout(patience);
          resolve();
        },
      };
      const patience = setTimeout(() => {
        queue.splice(queue.indexOf(waiting), 1);
        if (queue.length === 0) this.queues.delete(asker);
        reject(
          new Busy('too-busy', 'More is being asked at once than can be answered; send it again in a few seconds.'),
        );
      }, this.settings.patienceMilliseconds);
      patience.unref();
      queue.push(waiting);
    });
  }

  private leave(asker: string): void {
    this.busy -= 1;
    const left = this.heldBy(asker) - 1;
    if (left > 0) this.held.set(asker, left);
    else this.held.delete(asker);
    for (const [next, queue] of this.queues) {
      if (this.busy >= this.settings.places) return;
      if (this.heldBy(next) >= this.settings.share) continue;
      const waiting = queue.shift();
      this.queues.delete(next);
      if (!waiting) continue;
      if (queue.length > 0) this.queues.set(next, queue);
      this.take(next);
      waiting.begin();
    }
  }

  private take(asker: string): void {
    this.busy += 1;
    this.held.set(asker, this.heldBy(asker) + 1);
  }

  private heldBy(asker: string): number {
    return this.held.get(asker) ?? 0;
  }
}
