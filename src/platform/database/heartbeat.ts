/**
 * Whether the database answers, asked several times a second on a connection of its own: a server that has frozen, or a
 * network that swallows what is sent, closes no connection, and whoever waits for it would wait for as long as it lasts.
 */
import pg from 'pg';

export interface HeartbeatSettings {
  /** Between an answer and the next question. */
  everyMilliseconds: number;
  /** How long an answer may take. */
  patienceMilliseconds: number;
}

const standard: HeartbeatSettings = { everyMilliseconds: 300, patienceMilliseconds: 1000 };
const tickMilliseconds = 100;

export class Heartbeat {
  /** Undefined while it answers; else since when it does not. */
  awaySince: Date | undefined;
  private client: pg.Client | undefined;
  private stopped = false;
  private readonly ended: Promise<void>;

  /** @param onAway once each time it stops answering */
  constructor(
    private readonly url: string,
    private readonly onAway: () => void,
    private readonly settings: HeartbeatSettings = standard,
  ) {
    this.ended = this.beat();
  }

  async stop(): Promise<void> {
    this.stopped = true;
    await this.ended;
    await this.client?.end().catch(() => {});
  }

  private async beat(): Promise<void> {
    while (!this.stopped) {
      const answered = await this.inTime(this.ask()).catch(() => false);
      if (answered) this.awaySince = undefined;
      else {
        this.hangUp();
        if (!this.awaySince) {
          this.awaySince = new Date();
          this.onAway();
        }
      }
      await pause(this.settings.everyMilliseconds);
    }
  }

  private async ask(): Promise<boolean> {
    if (!this.client) {
      const client = new pg.Client({ connectionString: this.url, application_name: 'frostwright heartbeat' });
      client.on('error', () => {});
      this.client = client;
      await client.connect();
    }
    await this.client.query('select 1');
    return true;
  }

  /** Counted in ticks, so that an event loop that was held up is not taken for a database that does not answer. */
  private async inTime(asked: Promise<boolean>): Promise<boolean> {
    asked.catch(() => {});
    const ticks = Math.ceil(this.settings.patienceMilliseconds / tickMilliseconds);
    for (let tick = 0; tick < ticks; tick += 1) {
      const ended = await Promise.race([asked, pause(tickMilliseconds).then(() => undefined)]);
      if (ended !== undefined) return ended;
    }
    return false;
  }

  private hangUp(): void {
    const { client } = this;
    this.client = undefined;
    if (client) breakOff(client);
  }
}

const pause = (milliseconds: number) => new Promise<void>((resolve) => setTimeout(resolve, milliseconds).unref());

/** Ends a connection without a word to a server that may not hear it; what waits on it fails at once. */
export function breakOff(client: pg.Client): void {
  // The driver keeps its socket to itself.
  (client as unknown as { connection: { stream: { destroy(): void } } }).connection.stream.destroy();
}
