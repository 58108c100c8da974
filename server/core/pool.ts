/**
 * The connections to the database, and what happens when they end or the server does not answer.
 *
 * The driver's own pool cannot be kept where connections end in the middle of transactions: it writes to a socket that
 * is gone, which ends the process; it runs what is left of that transaction on a new connection, outside of it; or it
 * never gets that place back (porsager/postgres 3.4.9, its issues 1208 and 1216). Here a connection is a driver of its
 * own, which connects once and is thrown away when that ends.
 */
import net from 'node:net';
import postgres from 'postgres';
import { HOUR, MINUTE } from './clock.ts';

type Rows = postgres.Row[];

/** A statement on its way: awaited as it is for rows by name, or with `values()` for rows as lists. */
interface Asked<T> extends PromiseLike<T> {
  values(): PromiseLike<unknown[][]>;
}

/** What sends statements, be it a pool or a transaction; the driver's own clients do, too. */
export interface Client {
  unsafe<T extends object[] = Rows>(
    text: string,
    values?: unknown[],
    how?: { prepare?: boolean },
  ): PromiseLike<T>;
}

/** One connection held until it is released. */
export interface Held {
  unsafe(text: string): Promise<Rows>;
  release(): void;
}

/** A transaction, as drizzle speaks to it. */
interface Scope {
  /** For drizzle, which adds how values are read and written. */
  options: How;
  unsafe<T extends object[] = Rows>(text: string, values?: unknown[], how?: { prepare?: boolean }): Asked<T>;
  begin<T>(work: (scope: Scope) => Promise<T>): Promise<T>;
  savepoint<T>(work: (scope: Scope) => Promise<T>): Promise<T>;
}

export interface Pool extends Client {
  options: How;
  unsafe<T extends object[] = Rows>(text: string, values?: unknown[], how?: { prepare?: boolean }): Asked<T>;
  reserve(): Promise<Held>;
  begin<T>(work: (scope: Scope) => Promise<T>): Promise<T>;
  /** Takes nothing more, waits five seconds for what runs, and ends every connection. */
  close(): Promise<void>;
}

interface PoolOptions {
  max: number;
  /** How long somebody waits for a connection before they are refused, in ms; null: as long as it takes. */
  waitMs: number | null;
  connection: Connection;
}

type Connection = Record<string, string | number>;

/** How values are read and written, by the number of their type. */
type How = Pick<postgres.Sql['options'], 'parsers' | 'serializers'>;

const LOOK_EVERY = 250;
/** Without a byte for so long, the server is asked whether it is there at all. */
const SILENT = 1_500;
/** It answers that within so long, or is taken to be away. */
const PROBE = 2_000;
/** Longer than any statement may take: the server has forgotten this connection, or something between has. */
const FORGOTTEN = 20_000;
const CLOSE_WITHIN = 5_000;
/** What a connection has learnt is forgotten with it, now and then. */
const LIFE = () => 30 * MINUTE + Math.random() * 0.5 * HOUR;

const gone = (words: string) => Object.assign(new Error(words), { code: 'CONNECTION_CLOSED' });

/** One connection: a driver that connects once. */
class Line {
  readonly #sql: postgres.Sql;
  readonly #until = performance.now() + LIFE();
  readonly #onEnd: () => void;
  #socket: net.Socket | null = null;
  #works = false;
  #asked = 0;
  #seen = 0;
  #heardAt = 0;
  ended = false;

  constructor(url: string, connection: Connection, how: How, onEnd: (line: Line) => void) {
    this.#onEnd = () => onEnd(this);
    this.#sql = postgres(url, {
      max: 1,
      idle_timeout: 0,
      // It asks for the types of lists as soon as it is connected, and a connection that ends just then ends the process.
      fetch_types: false,
      max_lifetime: null,
      connect_timeout: 10,
      connection,
      onnotice: () => {},
      onclose: () => this.#end(),
      socket: (at: At) => this.#connect(at),
    } as postgres.Options<never>);
    const { parsers, serializers } = this.#sql.options;
    Object.assign(parsers, how.parsers);
    Object.assign(serializers, how.serializers);
  }

  get isOld(): boolean {
    return performance.now() > this.#until;
  }

  /** Rows come as they are asked for; a connection that ended refuses at once. */
  unsafe<T extends object[] = Rows>(
    text: string,
    values: unknown[] = [],
    how: { prepare?: boolean } = {},
  ): Sent<T> {
    if (this.ended) return refused(gone('The connection to the database is gone.'));
    if (this.#asked++ === 0) this.#heardAt = performance.now();
    const query = this.#sql.unsafe(text, values as never, how);
    query.then(
      () => {
        this.#asked--;
        this.#works = true;
      },
      () => {
        this.#asked--;
        // Refused before it was one at all, it would take statements and never send them.
        if (!this.#works) this.destroy('The connection to the database did not come about.');
      },
    );
    return query as unknown as Sent<T>;
  }

  get bytesRead(): number {
    return this.#socket?.bytesRead ?? 0;
  }

  /** For how long nothing was heard of what was asked, in ms; 0 where nothing is. */
  silentFor(now: number): number {
    const read = this.bytesRead;
    if (read !== this.#seen || this.#asked === 0) {
      this.#seen = read;
      this.#heardAt = now;
    }
    return now - this.#heardAt;
  }

  destroy(why: string): void {
    this.#socket?.destroy(gone(why));
    this.#end();
  }

  async close(): Promise<void> {
    this.ended = true;
    await this.#sql.end({ timeout: 1 });
  }

  #end(): void {
    if (this.ended) return;
    this.ended = true;
    this.#onEnd();
    // Whatever still waits within the driver is refused, and it connects no more.
    void this.#sql.end({ timeout: 0 });
  }

  /** The only socket that this driver gets. */
  async #connect(at: At): Promise<net.Socket> {
    try {
      if (this.#socket || this.ended) throw gone('The connection to the database is gone.');
      const socket = at.path ? net.connect(at.path) : net.connect(at.port[0] ?? 5432, at.host[0]);
      this.#socket = socket;
      await new Promise<void>((resolve, reject) => {
        socket.once('connect', resolve).once('error', reject);
        socket.once('close', () => reject(gone('The database did not take the connection.')));
      });
      socket.setNoDelay(true);
      return Object.assign(socket, { host: at.host[0] });
    } catch (error) {
      this.#end();
      throw error;
    }
  }
}

/** What the driver answers; `command` is what the server says it did. */
type Sent<T> = Asked<T> & Promise<T & { command: string }>;

/** Where the server is, as the driver reads it out of the address. */
interface At {
  host: string[];
  port: number[];
  path?: string | undefined;
}

function refused<T>(error: Error): Sent<T> {
  const answer: Promise<never> = Promise.reject(error);
  answer.catch(() => {});
  return Object.assign(answer, { values: () => answer });
}

interface Waiting {
  serve(line: Line): void;
  refuse(error: Error): void;
}

/** Connections to the server at `url`, opened as they are needed, `max` at most. */
export function createPool(url: string, { max, waitMs, connection }: PoolOptions): Pool {
  const { options } = postgres(url, { max: 1 });
  readLists(options);
  const { host, port, path } = options as unknown as At;
  const lines = new Set<Line>();
  const idle: Line[] = [];
  const waiting: Waiting[] = [];
  let isAway = false;
  let closing = false;
  let looking = false;
  let allGivenBack = () => {};

  const open = (): Line => {
    const line = new Line(url, connection, options, onEnd);
    lines.add(line);
    return line;
  };

  function onEnd(line: Line): void {
    lines.delete(line);
    const at = idle.indexOf(line);
    if (at >= 0) idle.splice(at, 1);
    serveNext();
  }

  function serveNext(): void {
    while (waiting.length > 0 && !isAway && lines.size < max) waiting.shift()?.serve(open());
    if (lines.size === idle.length) allGivenBack();
  }

  async function take(): Promise<Line> {
    if (closing) throw gone('The connections to the database are closed.');
    if (isAway) throw gone('The database does not answer.');
    const line = idle.pop() ?? (lines.size < max ? open() : null);
    if (line) return line;
    return new Promise((resolve, reject) => {
      const one: Waiting = {
        serve(given) {
          clearTimeout(timer);
          resolve(given);
        },
        refuse(error) {
          clearTimeout(timer);
          reject(error);
        },
      };
      const tooLong = () => {
        waiting.splice(waiting.indexOf(one), 1);
        reject(Object.assign(new Error('Every connection is in use.'), { code: '53300' }));
      };
      const timer = waitMs === null ? undefined : setTimeout(tooLong, waitMs);
      waiting.push(one);
    });
  }

  function give(line: Line): void {
    if (line.ended) return;
    if (line.isOld) {
      lines.delete(line);
      void line.close().catch(() => {});
      serveNext();
      return;
    }
    const next = waiting.shift();
    if (next) next.serve(line);
    else {
      idle.push(line);
      serveNext();
    }
  }

  async function look(): Promise<void> {
    const now = performance.now();
    const silent = [...lines].filter((line) => line.silentFor(now) > SILENT);
    if (looking || (silent.length === 0 && !isAway)) return;
    looking = true;
    const all = [...lines];
    const bytes = () => all.reduce((sum, line) => sum + line.bytesRead, 0);
    const before = bytes();
    const isThere = await answers({ host, port, path });
    looking = false;
    // Whoever answers somebody is there, though it may take nobody new.
    isAway = !isThere && bytes() === before && (silent.length > 0 || isAway);
    if (isAway) {
      const why = 'The database does not answer.';
      for (const one of waiting.splice(0)) one.refuse(gone(why));
      for (const line of [...lines]) line.destroy(why);
    } else {
      for (const line of silent)
        if (line.silentFor(performance.now()) > FORGOTTEN)
          line.destroy('This connection is not answered any more.');
      serveNext();
    }
  }
  const watch = setInterval(() => void look(), LOOK_EVERY);
  watch.unref();

  const lend = async <T>(work: (line: Line) => PromiseLike<T>): Promise<T> => {
    const line = await take();
    try {
      return await work(line);
    } finally {
      give(line);
    }
  };

  return {
    options,
    unsafe<T extends object[]>(text: string, values?: unknown[], how?: { prepare?: boolean }): Asked<T> {
      return {
        values: () => lend((line) => line.unsafe(text, values, how).values()),
        // biome-ignore lint/suspicious/noThenProperty: sent once it is awaited, as the driver does it
        then: (...then) => lend((line): PromiseLike<T> => line.unsafe<T>(text, values, how)).then(...then),
      };
    },
    async reserve() {
      const line = await take();
      return {
        unsafe: (text) => line.unsafe(text),
        release: () => give(line),
      };
    },
    begin: (work) => lend((line) => inTransaction(line, options, work)),
    async close() {
      closing = true;
      clearInterval(watch);
      for (const one of waiting.splice(0)) one.refuse(gone('The connections to the database are closed.'));
      if (lines.size > idle.length) {
        let timer: NodeJS.Timeout | undefined;
        await new Promise<void>((resolve) => {
          allGivenBack = resolve;
          timer = setTimeout(resolve, CLOSE_WITHIN);
        });
        clearTimeout(timer);
      }
      await Promise.all([...lines].map((line) => line.close()));
    },
  };
}

/** Between begin and commit; whatever is thrown undoes it, and so does a statement whose failure was not undone. */
async function inTransaction<T>(line: Line, options: How, work: (scope: Scope) => Promise<T>): Promise<T> {
  let failed: unknown;
  let savepoints = 0;
  let isOver = false;
  /** What goes on after the end, since another part of the work failed first, must not run outside of it. */
  const send = <R extends object[]>(
    text: string,
    values?: unknown[],
    how?: { prepare?: boolean },
  ): Sent<R> =>
    isOver ? refused(new Error('This transaction is over.')) : line.unsafe<R>(text, values, how);
  const scope: Scope = {
    options,
    unsafe<T extends object[]>(text: string, values?: unknown[], how?: { prepare?: boolean }) {
      const query = send<T>(text, values, how);
      query.catch((error) => {
        failed ??= error;
      });
      return query;
    },
    begin: (inner) => scope.savepoint(inner),
    async savepoint(inner) {
      const name = `s${savepoints++}`;
      const before = failed;
      await send(`savepoint ${name}`);
      try {
        return await inner(scope);
      } catch (error) {
        const why = reasonOf(error, failed);
        await send(`rollback to savepoint ${name}`);
        failed = before;
        throw why;
      }
    },
  };
  try {
    await line.unsafe('begin');
    const answer = await work(scope);
    isOver = true;
    const { command } = await line.unsafe('commit');
    if (command !== 'COMMIT') throw failed ?? new Error('The database undid this transaction.');
    return answer;
  } catch (error) {
    isOver = true;
    await line.unsafe('rollback').catch(() => line.destroy('This transaction could not be undone.'));
    throw reasonOf(error, failed);
  }
}

/** A statement after one that failed is refused for that alone: the first one says why. */
function reasonOf(error: unknown, first: unknown): unknown {
  for (let e = error; e instanceof Error; e = e.cause)
    if ((e as { code?: unknown }).code === '25P02') return first ?? error;
  return error;
}

/** Types of Postgres itself, each with that of a list of it. */
const LISTS: [one: number, list: number][] = [
  [16, 1000], // bool
  [17, 1001], // bytea
  [19, 1003], // name
  [20, 1016], // int8
  [21, 1005], // int2
  [23, 1007], // int4
  [25, 1009], // text
  [26, 1028], // oid
  [114, 199], // json
  [700, 1021], // float4
  [701, 1022], // float8
  [1043, 1015], // varchar
  [1082, 1182], // date
  [1114, 1115], // timestamp
  [1184, 1185], // timestamptz
  [1700, 1231], // numeric
  [2950, 2951], // uuid
  [3802, 3807], // jsonb
  [5069, 271], // xid8
];

/** Lists of one dimension. */
function readLists({ parsers, serializers }: How): void {
  for (const [one, list] of LISTS) {
    const read = (text: string) => (parsers[one] ? parsers[one](text) : text);
    parsers[list] = (text: string) =>
      [...text.matchAll(/"((?:[^"\\]|\\.)*)"|[^,{}]+/gs)].map(([bare, quoted]) =>
        quoted !== undefined ? read(quoted.replace(/\\(.)/gs, '$1')) : bare === 'NULL' ? null : read(bare),
      );
    const written = (value: unknown) =>
      `"${String(serializers[one] ? serializers[one](value) : value).replace(/[\\"]/g, '\\$&')}"`;
    serializers[list] = (values: unknown) =>
      Array.isArray(values)
        ? `{${values.map((value) => (value === null ? 'null' : written(value))).join()}}`
        : values;
  }
}

const SSL_REQUEST = Buffer.from([0, 0, 0, 8, 0x04, 0xd2, 0x16, 0x2f]);

/** Whether a Postgres answers there: by its first word to anybody, for which it needs neither a role nor a free place. */
function answers({ host, port, path }: At): Promise<boolean> {
  return new Promise((resolve) => {
    const socket = path ? net.connect(path) : net.connect(port[0] ?? 5432, host[0]);
    const end = (answer: boolean) => {
      socket.destroy();
      resolve(answer);
    };
    // Where this process itself was held up, its answer may lie there unread.
    socket.setTimeout(PROBE, () => setImmediate(() => setImmediate(() => end(false))));
    socket.on('connect', () => socket.write(SSL_REQUEST));
    socket.on('data', () => end(true));
    socket.on('error', () => end(false));
    socket.on('close', () => end(false));
  });
}
