import type { Writable } from 'node:stream';
import { and, eq, gt, inArray, isNull } from 'drizzle-orm';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import type { Read } from './actor.ts';
import { type Change, changesSince, type Mark } from './changes.ts';
import { Forbidden, Invalid, NotFound, TooMany, Unauthorised, Unavailable } from './errors.ts';
import { parse, text } from './forms.ts';
import { scrub } from './http.ts';
import type { Listening } from './listening.ts';
import { may, type Permission } from './policy.ts';
import { devices, people, sessions } from './schema.ts';
import { secretHash } from './secrets.ts';
import type { Services } from './services.ts';
import { STREAMS_ENDED } from './session.ts';

// Screens are told that something changed, never what: they ask for it again, by the route that shows it.

/** Something a screen may be told of. */
export interface Topic {
  /** Its name in the address of a stream, `bucket` or `bucket.HG`, and of the signal: `changed-bucket`. */
  word: string;
  permission: Permission;
  /** A paired tablet may be told of it, too. */
  atTablet?: true;
  /** Any change of these kinds is one of it. */
  whats: readonly Change['what'][];
  /** Of this kind only changes of the one that is named. */
  one?: { what: Change['what']; find(read: Read, name: string): Promise<number> };
}

declare module 'fastify' {
  interface FastifyRequest {
    /** How far changes were told before anything was read for this answer; null: not known. */
    mark: Mark | null;
  }
}

/** Two looks for changes lie at least so far apart, ms: however much changes, a screen asks once for all of it. */
const GATHERED = 1_000;
/** Proxies and radios cut what is silent for longer, and a look that no hint asked for finds what a lost hint missed. */
const BEAT = 20_000;
/** Streams a person may have open in this process. */
const STREAMS_EACH = 20;
/** Whoever leaves so much unread has gone, bytes. */
const UNREAD = 16 * 1024;

const ENDED = 'event: ended\ndata:\n\n';

type Out = Pick<Writable, 'write' | 'end' | 'destroy' | 'writableLength'>;

/** One open screen. */
export class Stream {
  readonly #out: Out;
  readonly #topics: ReadonlyMap<string, (change: Change) => boolean>;
  readonly #pending = new Set<string>();
  #isOpen = false;
  /** It has ended, maybe before it began. */
  isOver = false;

  constructor(out: Out, topics: ReadonlyMap<string, (change: Change) => boolean>) {
    this.#out = out;
    this.#topics = topics;
  }

  /** Takes note of what changed; null: anything may have. It is said by `say`. */
  note(changes: readonly Change[] | null): void {
    for (const [word, concerns] of this.#topics)
      if (changes === null || changes.some(concerns)) this.#pending.add(word);
  }

  /** From now on what was noted is said. */
  open(mark: Mark): void {
    this.#isOpen = true;
    if (this.#pending.size === 0) this.beat(mark);
    else this.say(mark);
  }

  /** Says what was noted. The mark goes with the last signal only: whoever missed that one is told all of them again. */
  say(mark: Mark): void {
    if (!this.#isOpen || this.#pending.size === 0) return;
    const signals = Array.from(this.#pending, (word) => `event: changed-${word}\ndata:\n`);
    this.#pending.clear();
    this.#write(`${signals.join('\n')}id: ${mark}\n\n`);
  }

  /** Shows that somebody is there, and how far they were told. */
  beat(mark: Mark): void {
    if (this.#isOpen) this.#write(`: still here\nid: ${mark}\n\n`);
  }

  /** Ends it for good: the screen asks for everything once more, and finds that it may no longer. */
  end(): void {
    const signals = Array.from(this.#topics.keys(), (word) => `event: changed-${word}\ndata:\n\n`);
    if (this.#isOpen) this.#write(signals.join('') + ENDED);
    this.close();
  }

  /** Ends it for now: the screen comes back. */
  close(): void {
    if (this.#isOpen) this.#out.end();
    this.#isOpen = false;
    this.isOver = true;
  }

  #write(words: string): void {
    this.#out.write(words);
    if (this.#out.writableLength <= UNREAD) return;
    this.#out.destroy();
    this.#isOpen = false;
  }
}

/** Who looks at a screen: a session, or a paired tablet. */
interface Watcher {
  kind: 'session' | 'device';
  id: number;
  hash: string;
}

/**
 * The streams of this process, and their routes. One connection listens for hints; what changed is read from the
 * table, so a hint that is lost delays and loses nothing. It starts with the first stream.
 */
export function liveRoutes(app: FastifyInstance, services: Services, topics: readonly Topic[]): void {
  const { database, clock, metrics } = services;
  const streams = new Map<Stream, Watcher>();
  let mark: Mark | null = null;
  let told = new Set<number>();
  let starting: Promise<void> | null = null;
  let isClosing = false;
  let listening: Listening | undefined;
  let beating: NodeJS.Timeout | undefined;
  const failed = (error: unknown) => {
    if (!isClosing) app.log.warn({ err: scrub(error) }, 'open screens could not be told');
  };

  const look = gathered(async () => {
    const seen = await changesSince(database.db, mark);
    const fresh = seen.changes?.filter(({ id }) => !told.has(id)) ?? null;
    mark = seen.mark;
    told = new Set(seen.changes?.filter(({ comesAgain }) => comesAgain).map(({ id }) => id));
    if (fresh?.length === 0) return;
    for (const stream of streams.keys()) {
      stream.note(fresh);
      stream.say(mark);
    }
  }, failed);

  /** Ends the streams of whoever is no longer signed in or paired. */
  async function endStreams(among: Iterable<[Stream, Watcher]>): Promise<void> {
    const all = [...among];
    const hashes = (kind: Watcher['kind']) =>
      all.flatMap(([, watcher]) => (watcher.kind === kind ? [watcher.hash] : []));
    const [signedIn, paired] = await Promise.all([
      hashes('session').length === 0
        ? []
        : database.db
            .select({ hash: sessions.idHash })
            .from(sessions)
            .innerJoin(people, and(eq(people.id, sessions.personId), eq(people.active, true)))
            .where(and(inArray(sessions.idHash, hashes('session')), gt(sessions.expiresAt, clock.now()))),
      hashes('device').length === 0
        ? []
        : database.db
            .select({ hash: devices.hash })
            .from(devices)
            .where(and(inArray(devices.hash, hashes('device')), isNull(devices.revokedAt))),
    ]);
    const stands = new Set([...signedIn, ...paired].map(({ hash }) => hash));
    for (const [stream, { hash }] of all) if (!stands.has(hash)) stream.end();
  }
  const check = gathered(() => endStreams(streams), failed, 0);

  function start(): Promise<void> {
    starting ??= begin().catch((error) => {
      starting = null;
      throw error;
    });
    return starting;
  }

  async function begin(): Promise<void> {
    // Listening first: what is committed between the two is hinted at, and looked for once more.
    listening ??= await database.listen({ changes: look, [STREAMS_ENDED]: check });
    mark ??= (await changesSince(database.db, null)).mark;
    beating = setInterval(() => {
      look();
      check();
      if (mark !== null) for (const stream of streams.keys()) stream.beat(mark);
    }, BEAT).unref();
  }

  app.decorateRequest('mark', null);
  app.addHook('onRequest', async (request) => {
    request.mark = mark;
  });

  async function open(request: FastifyRequest, reply: FastifyReply): Promise<FastifyReply> {
    const { watch, since } = parse(watching, request.query);
    const watcher = watcherOf(request, services);
    const chosen = await chosenBy(request, watch, topics, services);
    await start();
    // From here to its place among the streams without a pause, so that many at once are counted.
    const own = [...streams.values()].filter(({ kind, id }) => kind === watcher.kind && id === watcher.id);
    if (own.length >= STREAMS_EACH)
      throw new TooMany('You have this open on too many screens. Close some of them.', BEAT / 1000);

    const { raw } = reply;
    const stream = new Stream(raw, chosen);
    streams.set(stream, watcher);
    metrics?.streaming(streams.size);
    // Written to after it was cut, and before that is known here.
    raw.on('error', () => {});
    raw.once('close', () => {
      streams.delete(stream);
      metrics?.streaming(streams.size);
    });
    try {
      // It is among the streams already: what is committed from here on comes by itself.
      const header = request.headers['last-event-id'];
      const from = typeof header === 'string' && header !== '' ? header : since;
      const missed = from === undefined ? null : (await changesSince(database.db, from)).changes;
      stream.note(missed);
    } catch (error) {
      streams.delete(stream);
      throw error;
    }
    if (isClosing || raw.destroyed) throw new Unavailable('This is not open just now.');
    if (stream.isOver) throw new Unauthorised('Sign in to go on.');
    reply.hijack();
    raw.writeHead(200, {
      ...(reply.getHeaders() as Record<string, string>),
      'content-type': 'text/event-stream; charset=utf-8',
      // Once it ends nothing more comes on this connection, so that it keeps no process from ending.
      connection: 'close',
      'x-accel-buffering': 'no',
    });
    stream.open(mark ?? '');
    // Whoever was signed out since the guard let this through was not among the streams then.
    endStreams([[stream, watcher]]).catch(failed);
    return reply;
  }

  // In a scope, since it is made later: the guard comes after the hook above, and these routes after the guard.
  app.register(async (scope) => {
    for (const [url, permission] of [
      ['/live', 'own.page'],
      ['/tablet/live', 'tablet.see'],
    ] as const)
      scope.get(url, { exposeHeadRoute: false, config: { permission, isStream: true } }, open);
  });

  app.addHook('preClose', async () => {
    isClosing = true;
    clearInterval(beating);
    for (const stream of streams.keys()) stream.close();
  });
  app.addHook('onClose', async () => {
    await listening?.close();
  });
}

const watching = z.object({
  watch: z.preprocess(
    (value) => [value ?? []].flat(),
    z.array(text(40)).min(1, 'Say what to watch.').max(6, 'At most six.'),
  ),
  since: text(60).optional(),
});

function watcherOf({ caller, device, headers }: FastifyRequest, services: Services): Watcher {
  const cookie = services.sessions.read(headers.cookie);
  if (caller && cookie) return { kind: 'session', id: caller.id, hash: secretHash(cookie) };
  if (device) return { kind: 'device', id: device.id, hash: device.hash };
  throw new Unauthorised('Sign in to go on.');
}

/** The topics of these words, each with what concerns it. */
async function chosenBy(
  request: FastifyRequest,
  words: readonly string[],
  topics: readonly Topic[],
  { database, clock }: Services,
): Promise<Map<string, (change: Change) => boolean>> {
  const { caller } = request;
  const chosen = new Map<string, (change: Change) => boolean>();
  for (const said of words) {
    const [word, name] = said.split('.', 2);
    const topic = topics.find((one) => one.word === word);
    if (!topic || (topic.one !== undefined) !== (name !== undefined))
      throw new NotFound('There is nothing of this name to watch.');
    if (caller ? !may(caller.role, topic.permission) : !topic.atTablet)
      throw new Forbidden('This is not open to you. Ask a technician or manager.');
    const { whats, one } = topic;
    const subject =
      one && name && caller
        ? await one.find({ tx: database.db, actor: caller, now: clock.now() }, name)
        : null;
    if (chosen.has(topic.word)) throw new Invalid('One of a kind is watched at a time.');
    chosen.set(
      topic.word,
      ({ what, subjectId }) => whats.includes(what) || (what === one?.what && subjectId === subject),
    );
  }
  // Whether they have a message to read stands on every page.
  if (caller) chosen.set('me', ({ what, subjectId }) => what === 'person' && subjectId === caller.id);
  return chosen;
}

/**
 * Something to do soon: at once if the last time is long enough ago, else when it is; never twice at a time, and once
 * more where it was asked for meanwhile. Failures go to `failed`.
 */
function gathered(work: () => Promise<void>, failed: (error: unknown) => void, apart = GATHERED): () => void {
  let state: 'idle' | 'busy' | 'again' = 'idle';
  const run = async () => {
    await work().catch(failed);
    setTimeout(() => {
      const again = state === 'again';
      state = 'idle';
      if (again) ask();
    }, apart).unref();
  };
  const ask = () => {
    if (state === 'idle') {
      state = 'busy';
      void run();
    } else state = 'again';
  };
  return ask;
}
