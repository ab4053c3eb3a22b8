/** PostgreSQL's COPY over a `pg` connection, which has the messages for it but no words of its own. */
import { once } from 'node:events';
import type { Writable } from 'node:stream';
import type pg from 'pg';

/** What `pg` keeps to itself of its connection. */
interface Connection {
  stream: import('node:net').Socket;
  query(sql: string): void;
  sendCopyFromChunk(chunk: Buffer): void;
  endCopyFrom(): void;
  sendCopyFail(reason: string): void;
}

/** What `pg` calls on a query that handles its own messages. */
abstract class Copy {
  readonly finished: Promise<number>;
  protected failure: Error | undefined;
  private rows = 0;
  private settle!: { resolve(rows: number): void; reject(error: Error): void };

  constructor(private readonly sql: string) {
    this.finished = new Promise((resolve, reject) => (this.settle = { resolve, reject }));
  }
  submit(connection: Connection): void {
    connection.query(this.sql);
  }
  handleCommandComplete({ text }: { text: string }): void {
    this.rows = Number(/\d+$/.exec(text)?.[0]);
  }
  handleReadyForQuery(): void {
    if (this.failure) this.settle.reject(this.failure);
    else this.settle.resolve(this.rows);
  }
  handleError(error: Error): void {
    this.failure ??= error;
    this.settle.reject(this.failure);
  }
}

class CopyOut extends Copy {
  constructor(
    sql: string,
    private readonly take: (row: Buffer) => boolean,
    private readonly sink: Writable,
  ) {
    super(sql);
  }
  handleCopyData({ chunk }: { chunk: Buffer }, connection: Connection): void {
    // The chunk is a view of a buffer that will be used again.
    if (this.take(Buffer.from(chunk)) || connection.stream.isPaused()) return;
    connection.stream.pause();
    this.sink.once('drain', () => connection.stream.resume());
  }
}

class CopyIn extends Copy {
  constructor(
    sql: string,
    private readonly source: AsyncIterable<Buffer>,
  ) {
    super(sql);
  }
  handleCopyInResponse(connection: Connection): void {
    this.send(connection).catch((error: Error) => {
      this.failure ??= error;
      connection.sendCopyFail(error.message);
    });
  }
  private async send(connection: Connection): Promise<void> {
    for await (const row of this.source) {
      if (this.failure) return;
      connection.sendCopyFromChunk(row);
      if (connection.stream.writableNeedDrain) await once(connection.stream, 'drain');
    }
    connection.endCopyFrom();
  }
}

/**
 * Runs `COPY … TO STDOUT`.
 * @param take is given each row, and says whether `sink` can take more at once
 * @returns the number of rows
 */
export function copyOut(
  client: pg.ClientBase,
  sql: string,
  take: (row: Buffer) => boolean,
  sink: Writable,
): Promise<number> {
  // The driver's types know only of its own queries, though it takes whatever can submit itself.
  return client.query(new CopyOut(sql, take, sink) as unknown as pg.Submittable & CopyOut).finished;
}

/**
 * Runs `COPY … FROM STDIN`.
 * @returns the number of rows
 */
export function copyIn(client: pg.ClientBase, sql: string, rows: AsyncIterable<Buffer>): Promise<number> {
  // As above.
  return client.query(new CopyIn(sql, rows) as unknown as pg.Submittable & CopyIn).finished;
}
