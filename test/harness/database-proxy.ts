/** Stands between the service and its database, and can lose what passes: all of it, or one word at the wrong moment. */
import net from 'node:net';

export class DatabaseProxy {
  /** Nothing passes either way, and nothing is closed: a server that has frozen. */
  frozen = false;
  /** Connections are cut and none is taken: a server that is away. */
  private away = false;
  /** Called with what the service sends; true cuts that connection once the server has had it, before its answer. */
  cutAfter: ((sent: string) => boolean) | undefined;
  private readonly sockets = new Set<net.Socket>();
  private readonly waiting: (() => void)[] = [];

  private constructor(
    private readonly server: net.Server,
    readonly url: string,
  ) {}

  static async before(databaseUrl: string): Promise<DatabaseProxy> {
    const target = new URL(databaseUrl);
    const server = net.createServer();
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const own = new URL(databaseUrl);
    own.host = `127.0.0.1:${(server.address() as net.AddressInfo).port}`;
    const proxy = new DatabaseProxy(server, own.href);
    server.on('connection', (near) => proxy.join(near, net.connect(Number(target.port), target.hostname)));
    return proxy;
  }

  thaw(): void {
    this.frozen = false;
    for (const pass of this.waiting.splice(0)) pass();
  }

  set isAway(away: boolean) {
    this.away = away;
    if (away) for (const socket of this.sockets) socket.destroy();
  }

  async close(): Promise<void> {
    for (const socket of this.sockets) socket.destroy();
    await new Promise((resolve) => this.server.close(resolve));
  }

  private join(near: net.Socket, far: net.Socket): void {
    if (this.away) {
      near.destroy();
      far.destroy();
      return;
    }
    for (const socket of [near, far]) {
      this.sockets.add(socket);
      socket.on('error', () => {}).on('close', () => this.sockets.delete(socket));
    }
    let cut = false;
    const pass = (to: net.Socket, chunk: Buffer) => {
      if (this.frozen) this.waiting.push(() => to.writable && to.write(chunk));
      else if (to.writable) to.write(chunk);
    };
    near.on('data', (chunk) => {
      pass(far, chunk);
      if (this.cutAfter?.(chunk.toString('latin1'))) cut = true;
    });
    far.on('data', (chunk) => {
      // The server has done it, and its answer is lost.
      if (cut) near.destroy();
      else pass(near, chunk);
    });
    near.on('close', () => (this.frozen ? this.waiting.push(() => far.end()) : far.end()));
    far.on('close', () => near.destroy());
  }
}
