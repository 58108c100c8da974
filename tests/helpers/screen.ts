import { once } from 'node:events';
import { get, type IncomingMessage } from 'node:http';
import { setTimeout as sleep } from 'node:timers/promises';

/** Long enough for a busy machine. */
const PATIENCE = 20_000;

/** An open stream as a browser reads it. */
export interface Screen {
  status: number;
  type: string | null;
  /** Everything that came. */
  readonly words: string;
  /** The signals so far, by name. */
  readonly signals: string[];
  /** How far it was told: what a browser says when it comes back. */
  readonly lastId: string | null;
  /** Whether the server ended it. */
  readonly ended: boolean;
  /** Waits until it is so; throws with what came where it never is. */
  until(is: (screen: Screen) => boolean): Promise<void>;
  /** As when the network is gone. */
  cut(): void;
}

export async function aScreen(
  site: string,
  path: string,
  { cookie, lastId }: { cookie?: string | undefined; lastId?: string | null } = {},
): Promise<Screen> {
  // Not fetch: after a stream was cut it keeps a connection that never asks for anything, and a server waits for it.
  const request = get(`${site}${path}`, {
    agent: false,
    headers: { ...(cookie && { cookie }), ...(lastId && { 'last-event-id': lastId }) },
  });
  const [answer] = (await once(request, 'response')) as [IncomingMessage];
  let words = '';
  let ended = false;
  const screen: Screen = {
    status: answer.statusCode ?? 0,
    type: answer.headers['content-type'] ?? null,
    get words() {
      return words;
    },
    get signals() {
      return Array.from(words.matchAll(/^event: (.+)$/gm), ([, name = '']) => name);
    },
    get lastId() {
      return Array.from(words.matchAll(/^id: (.+)\n\n/gm), ([, id = '']) => id).at(-1) ?? null;
    },
    get ended() {
      return ended;
    },
    async until(is) {
      for (const since = Date.now(); !is(screen); await sleep(10))
        if (Date.now() - since > PATIENCE)
          throw new Error(`It never came. Status ${screen.status}, ended: ${ended}.\n${words}`);
    },
    cut: () => request.destroy(),
  };
  answer.setEncoding('utf8');
  answer.on('data', (part: string) => {
    words += part;
  });
  answer.on('end', () => {
    ended = true;
  });
  answer.on('error', () => {});
  return screen;
}
