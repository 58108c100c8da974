import { and, desc, eq, gt, isNotNull, isNull, lt, lte, or, type SQL, sql } from 'drizzle-orm';
import type { Act, Read } from './actor.ts';
import { DAY, HOUR, type Instant, MINUTE } from './clock.ts';
import type { Executor } from './database.ts';
import { NotFound } from './errors.ts';
import { wake } from './jobs.ts';
import { createPost, type Post, Refused } from './mail.ts';
import { may, mustBeAllowed } from './policy.ts';
import { mails, people, studio } from './schema.ts';
import type { Services } from './services.ts';
import { afterQuiet, footer, isTooOld, nextTry, oneLine, withAddresses } from './told.ts';

// Mail is written in the transaction of what it tells of, and sent afterwards by whichever process takes it:
//
// 1. A process claims one row and commits that. Nobody else takes it before the claim runs out.
// 2. It hands the mail to the mail server.
// 3. It writes down that it was taken.
//
// A process that dies between 2 and 3 leaves a row whose claim runs out, and which is sent again: a mail server cannot be
// asked whether it took something. It goes out again under the same Message-ID, by which whoever gets it can tell, rather
// than perhaps not at all. One person's mail is sent in its order: nothing overtakes what still waits for its next try.

/** Longer than any try may take. */
const CLAIM = 5 * MINUTE;
/** Of one look: then somebody else may have the queue. */
const MOST = 200;
const KEPT = 60 * DAY;

const waits = and(isNull(mails.sentAt), isNull(mails.givenUpAt));

interface Claimed {
  id: number;
  personId: number;
  subject: string;
  body: string;
  madeAt: Instant;
  tries: number;
}

/** Takes the mail that is due first. */
async function claim(db: Executor, now: Instant): Promise<Claimed | null> {
  const isFirst = sql`not exists (
    select from ${mails} as before
    where before.person_id = ${mails.personId} and before.id < ${mails.id}
      and before.sent_at is null and before.given_up_at is null)`;
  const next = db
    .select({ id: mails.id })
    .from(mails)
    .where(and(waits, lte(mails.dueAt, now), isFirst))
    .orderBy(mails.dueAt, mails.id)
    .limit(1)
    .for('update', { skipLocked: true });
  const [row] = await db
    .update(mails)
    .set({ tries: sql`${mails.tries} + 1`, dueAt: now + CLAIM })
    .where(eq(mails.id, sql`(${next})`))
    .returning({
      id: mails.id,
      personId: mails.personId,
      subject: mails.subject,
      body: mails.body,
      madeAt: mails.madeAt,
      tries: mails.tries,
    });
  return row ?? null;
}

const set = (db: Executor, id: number, values: Partial<typeof mails.$inferInsert>) =>
  db
    .update(mails)
    .set(values)
    .where(and(eq(mails.id, id), waits));

type Sender = Pick<Services, 'config' | 'database' | 'clock'>;

interface Sending {
  /** Ends between two mails. */
  stopping?: AbortSignal;
  /** Stands in for the mail server of the settings. */
  post?: Post;
}

/**
 * Sends what is due, in its order, until there is no more, the mail server cannot be reached, or the process stops.
 * Without a mail server nothing is sent, and what is due stays so.
 * @returns how many were sent
 */
export async function sendDueMail(services: Sender, { stopping, post }: Sending = {}): Promise<number> {
  const { config, database, clock } = services;
  const own = post === undefined && config.mail !== null ? createPost(config.mail) : null;
  const to = post ?? own;
  if (to === null) return 0;
  let sent = 0;
  try {
    for (let taken = 0; !stopping?.aborted; taken++) {
      if (taken === MOST) {
        await wake(database.db, 'mail');
        break;
      }
      const mail = await claim(database.db, clock.now());
      if (mail === null) break;
      const end = await sendOne(services, to, mail);
      if (end === 'sent') sent += 1;
      if (end === 'no-server') break;
    }
  } finally {
    own?.close();
  }
  return sent;
}

async function sendOne(
  { config, database: { db }, clock }: Sender,
  post: Post,
  mail: Claimed,
): Promise<'sent' | 'not-sent' | 'no-server'> {
  const [found] = await db
    .select({
      name: people.name,
      email: people.email,
      active: people.active,
      quiet: { from: people.quietFrom, until: people.quietUntil },
      studio: { name: studio.name, timeZone: studio.timeZone, setUpAt: studio.setUpAt },
    })
    .from(people)
    .crossJoin(studio)
    .where(eq(people.id, mail.personId));
  const now = clock.now();
  if (!found?.active) {
    await set(db, mail.id, { givenUpAt: now, lastError: 'They are no longer a member here.' });
    return 'not-sent';
  }
  if (mail.tries === 1 && isTooOld(mail.madeAt, now)) {
    await set(db, mail.id, { givenUpAt: now, lastError: 'It was made too long ago to be of use now.' });
    return 'not-sent';
  }
  const free = afterQuiet(now, found.quiet, found.studio.timeZone);
  if (free > now) {
    await set(db, mail.id, { dueAt: free, tries: mail.tries - 1 });
    return 'not-sent';
  }
  const origin = reachable(config.publicUrl);
  try {
    await post.send({
      to: { name: found.name, address: found.email },
      subject: `${mail.subject} (${oneLine(found.studio.name)})`,
      text: `${withAddresses(mail.body, origin)}\n\n${footer(found.studio.name, origin)}\n`,
      messageId: `wareboard.${found.studio.setUpAt}.${mail.madeAt}.${mail.id}@${domainOf(config)}`,
      choicesUrl: origin === null ? null : `${origin}/me/told`,
    });
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    const after = clock.now();
    const isOver = error.how === 'never' || isTooOld(mail.madeAt, after);
    const dueAt = afterQuiet(nextTry(mail.tries, after), found.quiet, found.studio.timeZone);
    await set(db, mail.id, { lastError: error.message, ...(isOver ? { givenUpAt: after } : { dueAt }) });
    return error.how === 'server' ? 'no-server' : 'not-sent';
  }
  await set(db, mail.id, { sentAt: clock.now(), sentTo: found.email, lastError: null });
  return 'sent';
}

const domainOf = ({ mail, publicUrl }: Services['config']): string =>
  mail?.from.address.split('@')[1] ?? publicUrl?.hostname ?? 'localhost';

/** The studio's own address, where a mail that is read elsewhere can lead to it. */
export const reachable = (publicUrl: URL | null): string | null =>
  publicUrl === null || /^(localhost$|127\.|\[::1\]$)/.test(publicUrl.hostname) ? null : publicUrl.origin;

/** A mail as the page of outgoing mail lists it. */
export interface MailNow {
  id: number;
  to: { name: string; email: string };
  subject: string;
  /** What it says, for whoever may read it. */
  body: string | null;
  madeAt: Instant;
  dueAt: Instant;
  tries: number;
  lastError: string | null;
  sentTo: string | null;
  sentAt: Instant | null;
  givenUpAt: Instant | null;
}

export interface Outbox {
  mails: MailNow[];
  waiting: number;
  givenUp: number;
}

/** The newest mail, what was given up first. Only a manager reads what others were written. */
export async function listMail(read: Read, limit = 50): Promise<Outbox> {
  mustBeAllowed(read.actor, 'mail.see');
  const all = may(read.actor.role, 'mail.read');
  const [rows, counts] = await Promise.all([
    read.tx
      .select({ mail: mails, name: people.name, email: people.email })
      .from(mails)
      .innerJoin(people, eq(people.id, mails.personId))
      .orderBy(sql`${mails.givenUpAt} is null`, desc(mails.id))
      .limit(limit),
    countMail(read.tx),
  ]);
  return {
    mails: rows.map(({ mail: { personId, kind: _, body, ...mail }, name, email }) => ({
      ...mail,
      to: { name, email },
      body: all || personId === read.actor.id ? body : null,
    })),
    ...counts,
  };
}

/** How much mail waits, and how much was given up. */
export async function countMail(db: Executor): Promise<{ waiting: number; givenUp: number }> {
  const counted = (which: SQL | undefined) => sql<number>`count(*) filter (where ${which})::int`;
  const [row] = await db
    .select({
      waiting: counted(waits),
      givenUp: counted(sql`${mails.givenUpAt} is not null`),
    })
    .from(mails)
    .where(isNull(mails.sentAt));
  return row ?? { waiting: 0, givenUp: 0 };
}

/** What of mail needs somebody: so many given up in the last week, and why what waits does not go out; null: it does. */
export async function mailTrouble(
  db: Executor,
  now: Instant,
): Promise<{ givenUp: number; error: string | null }> {
  const [[count], [stuck]] = await Promise.all([
    db
      .select({ givenUp: sql<number>`count(*)::int` })
      .from(mails)
      .where(and(isNull(mails.sentAt), gt(mails.givenUpAt, now - 7 * DAY))),
    db
      .select({ error: mails.lastError })
      .from(mails)
      .where(and(waits, isNotNull(mails.lastError), lt(mails.madeAt, now - HOUR)))
      .orderBy(mails.id)
      .limit(1),
  ]);
  return { givenUp: count?.givenUp ?? 0, error: stuck?.error ?? null };
}

/** Has one tried again now that was given up or waits for its next try. Throws NotFound where it was sent. */
export async function tryAgain(act: Act, id: number): Promise<void> {
  mustBeAllowed(act.actor, 'mail.see');
  const again = await act.tx
    .update(mails)
    .set({ dueAt: act.now, tries: sql`greatest(${mails.tries}, 1)`, givenUpAt: null })
    // Not while a try of it may be under way.
    .where(
      and(
        eq(mails.id, id),
        isNull(mails.sentAt),
        or(sql`${mails.givenUpAt} is not null`, sql`${mails.lastError} is not null`, eq(mails.tries, 0)),
      ),
    )
    .returning({ id: mails.id });
  if (again.length === 0) throw new NotFound('That mail is not waiting any more.');
  await wake(act.tx, 'mail');
}

/** Removes mail that is long sent, or will never be. */
export async function forgetOldMail(db: Executor, now: Instant): Promise<void> {
  await db.delete(mails).where(lt(mails.madeAt, now - KEPT));
}
