import { once } from 'node:events';
import net from 'node:net';
import { whenFileIsDone } from '../helpers/closing.ts';

/** What becomes of one connection when the client says to commit. */
type AtCommit = 'passes' | 'is cut before' | 'is cut after';

/** The way between the app and its database, which a test breaks as it likes. */
export interface Link {
  /** The same database, by way of this link. */
  through(url: string): string;
  /** Asked at every commit. */
  atCommit: () => AtCommit;
  /** Nothing passes any more in either direction, nothing is said of it, and nobody new gets through. */
  isDead: boolean;
  /** Those that are open are silent from now on; whoever comes anew gets through. */
  forget(): void;
  /** Ends every connection, as a cable does that is pulled and a machine that is switched off. */
  cut(how?: 'closed' | 'reset'): void;
  commits: number;
}

const COMMIT = Buffer.from('commit\0');
/** What the server says of it. */
const ENDED = [Buffer.from('COMMIT\0'), Buffer.from('ROLLBACK\0')];

/** A link to the server of this URL. */
export async function aLink(serverUrl: string): Promise<Link> {
  const { hostname, port } = new URL(serverUrl);
  const open = new Set<net.Socket>();
  const forgotten = new WeakSet<net.Socket>();
  const link: Link = {
    through(url) {
      const at = new URL(url);
      at.hostname = '127.0.0.1';
      at.port = String((server.address() as net.AddressInfo).port);
      return at.href;
    },
    atCommit: () => 'passes',
    isDead: false,
    forget() {
      for (const socket of open) forgotten.add(socket);
    },
    cut(how = 'closed') {
      for (const socket of open) how === 'reset' ? socket.resetAndDestroy() : socket.destroy();
      open.clear();
    },
    commits: 0,
  };
  const server = net.createServer((client) => {
    const database = net.connect(Number(port), hostname);
    let isAnswered = true;
    client.on('data', (bytes) => {
      if (link.isDead || forgotten.has(client)) return;
      if (!bytes.includes(COMMIT)) return void database.write(bytes);
      link.commits++;
      const fate = link.atCommit();
      if (fate === 'is cut before') return void client.destroy();
      isAnswered = fate === 'passes';
      database.write(bytes);
    });
    database.on('data', (bytes) => {
      if (link.isDead || forgotten.has(client)) return;
      if (isAnswered) client.write(bytes);
      // Not with the first answer: that may be of a statement sent together with the commit.
      else if (ENDED.some((word) => bytes.includes(word))) client.destroy();
    });
    for (const [one, other] of [
      [client, database],
      [database, client],
    ] as const) {
      one.on('error', () => {});
      one.on('close', () => other.destroy());
    }
    open.add(client);
    client.on('close', () => open.delete(client));
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  whenFileIsDone(async () => {
    link.cut();
    server.close();
  });
  return link;
}
