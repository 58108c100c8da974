import { and, eq, gt, isNull, lt, or, sql } from 'drizzle-orm';
import { type Adapter, Lucia, TimeSpan } from 'lucia';
import type { Actor, Read, Studio } from './actor.ts';
import type { Clock, Instant } from './clock.ts';
import type { Database, Executor } from './database.ts';
import { messages, people, secondFactors, sessions, studio, tokens } from './schema.ts';
import { secretHash } from './secrets.ts';
import { toWallTime } from './wall-time.ts';

// lucia is in maintenance: this file is the only one that knows it.

declare module 'lucia' {
  interface Register {
    Lucia: Lucia<Record<never, never>, Omit<Caller, 'id'>>;
    UserId: number;
    DatabaseUserAttributes: Omit<Caller, 'id'>;
  }
}

/** A person who may act, and the studio they act in, found in one query. */
export interface Caller extends Actor {
  studio: Studio;
  /** What a token is limited to; null: to nothing, as whoever signed in. */
  scopes: readonly string[] | null;
  /** Messages they have not read yet; counted for whoever signed in, since every page says it. */
  unread: number;
  /** A technician or manager who must set up a second factor first: until then they look on as a member does. */
  owesFactor: boolean;
}

const callerColumns = {
  id: people.id,
  name: people.name,
  email: people.email,
  role: people.role,
  units: sql<Actor['units']>`coalesce(${people.units}, ${studio.units})`,
  studioName: studio.name,
  timeZone: studio.timeZone,
  currency: studio.currency,
  studioUnits: studio.units,
};

const unreadOf = sql<number>`(select count(*)::int from ${messages}
  where ${messages.personId} = ${people.id} and ${messages.readAt} is null)`;

/** Whether the studio asks this person for a second factor that they have not set up. */
const owesFactor = sql<boolean>`(${studio.staffSecondFactor} and ${people.role} <> 'member' and not exists (
  select 1 from ${secondFactors}
  where ${secondFactors.personId} = ${people.id} and ${secondFactors.confirmedAt} is not null))`;

type CallerRow = Pick<Actor, 'id' | 'name' | 'email' | 'role' | 'units'> & {
  studioName: string;
  timeZone: string;
  currency: string;
  studioUnits: Studio['units'];
  unread?: number;
  owesFactor?: boolean;
  scopes?: string[] | null;
};

function toCaller(row: CallerRow, tokenId: number | null): Caller {
  const { studioName, timeZone, currency, studioUnits, id, name, email, units, owesFactor = false } = row;
  return {
    id,
    name,
    email,
    role: owesFactor ? 'member' : row.role,
    units,
    tokenId,
    deviceId: null,
    studio: { name: studioName, timeZone, currency, units: studioUnits },
    scopes: row.scopes ?? null,
    unread: row.unread ?? 0,
    owesFactor,
  };
}

export interface Sessions {
  /** The session id among a request's cookies. */
  read(cookieHeader: string | undefined): string | null;
  /** Whoever holds this cookie, and a cookie to send back where the session was prolonged. */
  find(cookie: string): Promise<{ caller: Caller; renewed: string | null } | null>;
  findByToken(token: string): Promise<Caller | null>;
  start(personId: number): Promise<string>;
  end(cookie: string): Promise<void>;
  blankCookie(): string;
  /** Removes what has expired. */
  tidy(): Promise<void>;
}

export function createSessions(database: Database, clock: Clock, options: { secure: boolean }): Sessions {
  const { db } = database;
  const bySession = db
    .select({ ...callerColumns, unread: unreadOf, owesFactor, expiresAt: sessions.expiresAt })
    .from(sessions)
    .innerJoin(people, and(eq(people.id, sessions.personId), eq(people.active, true)))
    .innerJoin(studio, eq(studio.id, 1))
    .where(eq(sessions.idHash, sql.placeholder('hash')))
    .prepare('caller_by_session');
  const byToken = db
    .select({ ...callerColumns, tokenId: tokens.id, scopes: tokens.scopes })
    .from(tokens)
    .innerJoin(people, and(eq(people.id, tokens.personId), eq(people.active, true)))
    .innerJoin(studio, eq(studio.id, 1))
    .where(
      and(
        eq(tokens.hash, sql.placeholder('hash')),
        isNull(tokens.revokedAt),
        or(isNull(tokens.expiresAt), gt(tokens.expiresAt, sql.placeholder('now'))),
      ),
    )
    .prepare('caller_by_token');

  const adapter: Adapter = {
    async getSessionAndUser(id) {
      const [row] = await bySession.execute({ hash: secretHash(id) });
      if (!row) return [null, null];
      const { id: userId, ...attributes } = toCaller(row, null);
      return [
        { id, userId, expiresAt: new Date(row.expiresAt), attributes: {} },
        { id: userId, attributes },
      ];
    },
    async getUserSessions() {
      return [];
    },
    async setSession(session) {
      await db.insert(sessions).values({
        idHash: secretHash(session.id),
        personId: session.userId,
        expiresAt: session.expiresAt.getTime(),
      });
    },
    async updateSessionExpiration(id, expiresAt) {
      await db
        .update(sessions)
        .set({ expiresAt: expiresAt.getTime() })
        .where(eq(sessions.idHash, secretHash(id)));
    },
    async deleteSession(id) {
      await db.delete(sessions).where(eq(sessions.idHash, secretHash(id)));
      await tellEnded(db);
    },
    async deleteUserSessions(personId) {
      await endSessionsOf(db, personId, clock.now());
    },
    async deleteExpiredSessions() {
      await db.delete(sessions).where(lt(sessions.expiresAt, clock.now()));
    },
  };

  const lucia = new Lucia(adapter, {
    sessionExpiresIn: new TimeSpan(30, 'd'),
    sessionCookie: {
      name: options.secure ? '__Host-wareboard' : 'wareboard',
      attributes: { secure: options.secure, sameSite: 'lax', path: '/' },
    },
    getUserAttributes: (attributes) => attributes,
  });

  return {
    read: (header) => (header ? lucia.readSessionCookie(header) : null),
    async find(cookie) {
      const { user, session } = await lucia.validateSession(cookie);
      if (!user) return null;
      return {
        caller: user,
        renewed: session.fresh ? lucia.createSessionCookie(session.id).serialize() : null,
      };
    },
    async findByToken(token) {
      const [row] = await byToken.execute({
        hash: secretHash(token),
        now: new Date(clock.now()).toISOString(),
      });
      return row ? toCaller(row, row.tokenId) : null;
    },
    async start(personId) {
      const session = await lucia.createSession(personId, {});
      return lucia.createSessionCookie(session.id).serialize();
    },
    end: (cookie) => lucia.invalidateSession(cookie),
    blankCookie: () => lucia.createBlankSessionCookie().serialize(),
    tidy: () => lucia.deleteExpiredSessions(),
  };
}

/**
 * Signs a person out everywhere: a change of password, role or activity calls it in its own transaction. Says how many
 * sessions of theirs had not run out.
 */
export async function endSessionsOf(tx: Executor, personId: number, now: Instant): Promise<number> {
  const ended = await tx
    .delete(sessions)
    .where(eq(sessions.personId, personId))
    .returning({ expiresAt: sessions.expiresAt });
  await tellEnded(tx);
  return ended.filter(({ expiresAt }) => expiresAt > now).length;
}

/** What every process hears on when somebody was signed out, or a tablet unpaired. */
export const STREAMS_ENDED = 'streams_ended';

/** Has every process end the open screens of whoever is no longer signed in, once the transaction is committed. */
export async function tellEnded(db: Executor): Promise<void> {
  await db.execute(sql`select pg_notify(${STREAMS_ENDED}, '')`);
}

/** In how many browsers a person is signed in. */
export const countSessions = (db: Executor, personId: number, now: Instant): Promise<number> =>
  db.$count(sessions, and(eq(sessions.personId, personId), gt(sessions.expiresAt, now)));

/** Ends a person's tokens as well. */
export async function revokeTokensOf(tx: Executor, personId: number, now: number): Promise<void> {
  await tx
    .update(tokens)
    .set({ revokedAt: now })
    .where(and(eq(tokens.personId, personId), isNull(tokens.revokedAt)));
}

/** Where the studio's clock stands; UTC before it is set up. */
export const studioTimeZone = async (db: Executor): Promise<string> =>
  (await findStudio(db))?.timeZone ?? 'UTC';

/** The day on the studio's calendar, YYYY-MM-DD. */
export const studioDay = async ({ tx, now }: Pick<Read, 'tx' | 'now'>): Promise<string> =>
  toWallTime(now, await studioTimeZone(tx)).slice(0, 10);

/** The studio, for an act: none comes before it was set up. */
export async function theStudio(db: Executor): Promise<Studio> {
  const found = await findStudio(db);
  if (!found) throw new Error('Nobody acts before the studio is set up.');
  return found;
}

export async function findStudio(db: Executor): Promise<Studio | null> {
  const [row] = await db.select().from(studio);
  return row ? { name: row.name, timeZone: row.timeZone, currency: row.currency, units: row.units } : null;
}
