import postgres from 'postgres';

export interface Listening {
  close(): Promise<void>;
}

const AGAIN_AFTER = 250;
const AGAIN_AT_MOST = 5_000;

/**
 * One connection that hears what is told on these channels, and connects again whenever it ends: each channel's
 * function is called when something was told on it, and whenever it is heard anew, since what was told meanwhile was
 * missed. What comes with it is not read. Resolves once it hears; throws where it cannot at first.
 *
 * A connection is a driver of its own that is thrown away when it ends: the driver's own way of listening gives up
 * silently where the server is away for a while.
 */
export async function listen(
  url: string,
  channels: Readonly<Record<string, () => void>>,
): Promise<Listening> {
  let isClosed = false;
  let sql: postgres.Sql | null = null;
  let wait = AGAIN_AFTER;
  let timer: NodeJS.Timeout | undefined;

  async function connect(): Promise<void> {
    const own = postgres(url, {
      max: 1,
      idle_timeout: 0,
      max_lifetime: null,
      fetch_types: false,
      connect_timeout: 10,
      connection: { application_name: 'wareboard-listening' },
      onnotice: () => {},
      onnotify: (channel: string) => channels[channel]?.(),
      onclose: () => ended(own),
    } as postgres.Options<never>);
    sql = own;
    const words = Object.keys(channels).map((name) => `listen "${name}"`);
    try {
      await own.unsafe(words.join('; '));
    } catch (error) {
      ended(own);
      throw error;
    }
    wait = AGAIN_AFTER;
    for (const hear of Object.values(channels)) hear();
  }

  function ended(which: postgres.Sql): void {
    if (isClosed || sql !== which) return;
    sql = null;
    void which.end({ timeout: 0 });
    timer = setTimeout(() => connect().catch(() => {}), wait);
    timer.unref();
    wait = Math.min(2 * wait, AGAIN_AT_MOST);
  }

  async function close(): Promise<void> {
    isClosed = true;
    clearTimeout(timer);
    await sql?.end({ timeout: 0 });
  }

  try {
    await connect();
  } catch (error) {
    await close();
    throw error;
  }
  return { close };
}
