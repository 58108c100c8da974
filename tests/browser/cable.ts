import { type AddressInfo, connect, createServer, type Socket } from 'node:net';
import { onTestFinished } from 'vitest';

/** A cable between a browser and a site, to be cut. */
export interface Cable {
  site: string;
  /** 'cut': nothing gets through; 'deaf': what is sent arrives, and no answer comes back. */
  set(state: 'whole' | 'cut' | 'deaf'): void;
}

/** A place of its own in front of a site; it goes with its test. */
export async function aCable(to: string): Promise<Cable> {
  const port = Number(new URL(to).port);
  const open = new Set<Socket>();
  let state: 'whole' | 'cut' | 'deaf' = 'whole';
  const server = createServer((near) => {
    if (state === 'cut') return near.destroy();
    const far = connect({ host: '127.0.0.1', port });
    for (const socket of [near, far]) {
      open.add(socket);
      socket.on('error', () => {});
      socket.on('close', () => {
        open.delete(socket);
        near.destroy();
        far.destroy();
      });
    }
    near.pipe(far);
    far.on('data', (bytes) => {
      if (state === 'deaf') near.destroy();
      else near.write(bytes);
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const end = () => {
    for (const socket of open) socket.destroy();
  };
  onTestFinished(() => {
    end();
    server.close();
  });
  return {
    site: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    set(next) {
      state = next;
      // A connection that was kept open would still be whole, or lead to nowhere.
      end();
    },
  };
}
