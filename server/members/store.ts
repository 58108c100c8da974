import { and, asc, count, desc, eq, gt, isNull, like, lte, max, not, or, sql } from 'drizzle-orm';
import type { Studio } from '../core/actor.ts';
import type { Instant } from '../core/clock.ts';
import { databaseError, type Executor, type Tx } from '../core/database.ts';
import { Conflict } from '../core/errors.ts';
import { devices, people, secondFactors, studio, tokens, toldChoices } from '../core/schema.ts';
import { tellEnded } from '../core/session.ts';
import type { Quiet, ToldKind, Way } from '../core/told.ts';
import { links, recoveryCodes, signInFailures, signInSteps } from './schema.ts';

export type Person = typeof people.$inferSelect;
export type Link = typeof links.$inferSelect;

export async function insertStudio(tx: Tx, values: Studio & { setUpAt: Instant }): Promise<boolean> {
  // Two at once wait for each other here, and the later one inserts nothing.
  const made = await tx.insert(studio).values(values).onConflictDoNothing().returning({ id: studio.id });
  return made.length > 0;
}

/** What a manager may change about the studio. */
export type StudioSettings = Omit<Studio, 'currency'> & { staffSecondFactor: boolean };

export async function updateStudio(tx: Tx, values: StudioSettings): Promise<void> {
  await tx.update(studio).set(values);
}

/** Whether technicians and managers must have a second factor here. */
export async function asksStaffForFactor(db: Executor): Promise<boolean> {
  const [row] = await db.select({ asks: studio.staffSecondFactor }).from(studio);
  return row?.asks ?? false;
}

// People

export async function insertPerson(
  tx: Tx,
  values: Pick<Person, 'name' | 'email' | 'role' | 'passwordHash' | 'joinedAt'>,
): Promise<number> {
  try {
    const [row] = await tx.insert(people).values(values).returning({ id: people.id });
    return (row as { id: number }).id;
  } catch (error) {
    if (databaseError(error)?.constraint === 'people_email')
      throw new Conflict('Somebody with this e-mail address is here already.');
    throw error;
  }
}

export async function findPerson(db: Executor, email: string): Promise<Person | null> {
  const [row] = await db.select().from(people).where(eq(people.email, email));
  return row ?? null;
}

/** The person with their row locked until the end of the transaction. */
export async function lockPerson(tx: Tx, who: { id: number } | { email: string }): Promise<Person | null> {
  const [row] = await tx
    .select()
    .from(people)
    .where('id' in who ? eq(people.id, who.id) : eq(people.email, who.email))
    .for('update');
  return row ?? null;
}

/** The ids of all active managers, who cannot change until the end of the transaction. */
export async function lockManagers(tx: Tx): Promise<number[]> {
  const rows = await tx
    .select({ id: people.id })
    .from(people)
    .where(and(eq(people.role, 'manager'), eq(people.active, true)))
    .orderBy(asc(people.id))
    .for('update');
  return rows.map(({ id }) => id);
}

export type ListedPerson = Omit<
  Person,
  'passwordHash' | 'pinHash' | 'cardHash' | 'quietFrom' | 'quietUntil'
> & { hasFactor: boolean };

export async function allPeople(db: Executor): Promise<ListedPerson[]> {
  const { id, name, email, role, units, active, joinedAt } = people;
  const hasFactor = sql<boolean>`${secondFactors.confirmedAt} is not null`;
  return db
    .select({ id, name, email, role, units, active, joinedAt, hasFactor })
    .from(people)
    .leftJoin(secondFactors, eq(secondFactors.personId, people.id));
}

export async function updatePerson(
  tx: Tx,
  id: number,
  change: Partial<
    Pick<Person, 'name' | 'units' | 'role' | 'active' | 'passwordHash' | 'pinHash' | 'cardHash'>
  >,
): Promise<void> {
  await tx.update(people).set(change).where(eq(people.id, id));
}

// Links

export async function insertLink(tx: Tx, values: typeof links.$inferInsert): Promise<void> {
  await tx.insert(links).values(values);
}

/** A link with the address it was made for, and the name of the person it is about, if they are here yet. */
export type LinkHolder = Pick<Link, 'id' | 'personId' | 'usedAt' | 'expiresAt'> & {
  email: string;
  name: string | null;
};

export async function findLink(db: Executor, kind: Link['kind'], hash: string): Promise<LinkHolder | null> {
  const { id, personId, usedAt, expiresAt } = links;
  const email = sql<string>`coalesce(${links.email}, ${people.email})`;
  const [row] = await db
    .select({ id, personId, usedAt, expiresAt, email, name: people.name })
    .from(links)
    .leftJoin(people, eq(people.id, links.personId))
    .where(and(eq(links.kind, kind), eq(links.hash, hash)));
  return row ?? null;
}

export async function lockLink(tx: Tx, id: number): Promise<Link> {
  const [row] = await tx.select().from(links).where(eq(links.id, id)).for('update');
  return row as Link;
}

export async function useLink(tx: Tx, id: number, now: Instant): Promise<void> {
  await tx.update(links).set({ usedAt: now }).where(eq(links.id, id));
}

const open = (now: Instant) => and(isNull(links.usedAt), gt(links.expiresAt, now));

/** Addresses with an invitation that still works, and until when. */
export async function openInvitations(
  db: Executor,
  now: Instant,
): Promise<{ email: string | null; expiresAt: Instant }[]> {
  const { email, expiresAt } = links;
  return db
    .select({ email, expiresAt })
    .from(links)
    .where(and(eq(links.kind, 'invitation'), open(now)));
}

/** Ends the invitations to an address that are still open. */
export async function endInvitations(tx: Tx, email: string, now: Instant): Promise<void> {
  await tx
    .update(links)
    .set({ expiresAt: now })
    .where(and(eq(links.email, email), open(now)));
}

/** Ends the links that open a person's account, and with `made` those that this person handed out. */
export async function endLinksOf(
  tx: Tx,
  personId: number,
  now: Instant,
  o: { made: boolean },
): Promise<void> {
  const whose = or(eq(links.personId, personId), o.made ? eq(links.madeBy, personId) : undefined);
  await tx
    .update(links)
    .set({ expiresAt: now })
    .where(and(whose, open(now)));
}

// Tokens

export async function insertToken(
  tx: Tx,
  values: Omit<typeof tokens.$inferInsert, 'revokedAt'>,
): Promise<void> {
  await tx.insert(tokens).values(values);
}

export interface LiveToken {
  name: string;
  scopes: string[] | null;
  createdAt: Instant;
  expiresAt: Instant | null;
}

const live = (personId: number, now: Instant) =>
  and(
    eq(tokens.personId, personId),
    isNull(tokens.revokedAt),
    or(isNull(tokens.expiresAt), gt(tokens.expiresAt, now)),
  );

export async function liveTokens(db: Executor, personId: number, now: Instant): Promise<LiveToken[]> {
  const { name, scopes, createdAt, expiresAt } = tokens;
  return db
    .select({ name, scopes, createdAt, expiresAt })
    .from(tokens)
    .where(live(personId, now))
    .orderBy(desc(tokens.createdAt));
}

export async function revokeToken(tx: Tx, personId: number, name: string, now: Instant): Promise<boolean> {
  const revoked = await tx
    .update(tokens)
    .set({ revokedAt: now })
    .where(and(live(personId, now), eq(tokens.name, name)))
    .returning({ id: tokens.id });
  return revoked.length > 0;
}

// Failed sign-ins

export interface Attempt {
  email: string;
  address: string;
}

/** Lets the tries of one kind, such as those from one address, be counted one after another until the transaction ends. */
export async function lockTries(tx: Tx, which: string): Promise<void> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended(${which}, 0))`);
}

export interface Failures {
  failures: number;
  latest: Instant | null;
}

/** Failures since then: for one account or where `email` is null for all, from one address or from all. */
export async function countFailures(
  tx: Tx,
  { email, address }: { email: string | null; address: string | null },
  since: Instant,
): Promise<Failures> {
  const [row] = await tx
    .select({ failures: count(), latest: max(signInFailures.at) })
    .from(signInFailures)
    .where(
      and(
        address === null ? undefined : eq(signInFailures.address, address),
        email === null ? undefined : eq(signInFailures.email, email),
        gt(signInFailures.at, since),
      ),
    );
  return row ?? { failures: 0, latest: null };
}

export async function insertFailure(tx: Tx, attempt: Attempt & { at: Instant }): Promise<void> {
  await tx.insert(signInFailures).values(attempt);
}

export async function clearFailures(tx: Executor, { email, address }: Attempt): Promise<void> {
  await tx
    .delete(signInFailures)
    .where(and(eq(signInFailures.email, email), eq(signInFailures.address, address)));
}

/** Clears an account's failures wherever they were made. */
export async function clearFailuresOf(tx: Executor, email: string): Promise<void> {
  await tx.delete(signInFailures).where(eq(signInFailures.email, email));
}

/** Deletes the failures that are old: those of one kind of account, by how its name begins, or of all others. */
export async function deleteFailuresUntil(
  db: Executor,
  then: Instant,
  accounts: { beginning: string } | { notBeginning: string },
): Promise<void> {
  const beginning = 'beginning' in accounts ? accounts.beginning : accounts.notBeginning;
  const matches = like(signInFailures.email, `${beginning}%`);
  await db
    .delete(signInFailures)
    .where(and(lte(signInFailures.at, then), 'beginning' in accounts ? matches : not(matches)));
}

// Second factors

export type SecondFactor = typeof secondFactors.$inferSelect;

export async function findFactor(db: Executor, personId: number): Promise<SecondFactor | null> {
  const [row] = await db.select().from(secondFactors).where(eq(secondFactors.personId, personId));
  return row ?? null;
}

export async function lockFactor(tx: Tx, personId: number): Promise<SecondFactor | null> {
  const [row] = await tx
    .select()
    .from(secondFactors)
    .where(eq(secondFactors.personId, personId))
    .for('update');
  return row ?? null;
}

/** Whether a code is asked for when this person signs in. */
export const hasFactor = async (db: Executor, personId: number): Promise<boolean> =>
  ((await findFactor(db, personId))?.confirmedAt ?? null) !== null;

/** Keeps a key that proves nothing yet, in place of an earlier one; false where one is in use. */
export async function putPendingFactor(
  tx: Tx,
  values: Pick<SecondFactor, 'personId' | 'secret' | 'madeAt'>,
): Promise<boolean> {
  const put = await tx
    .insert(secondFactors)
    .values(values)
    .onConflictDoUpdate({
      target: secondFactors.personId,
      set: { secret: values.secret, madeAt: values.madeAt },
      setWhere: isNull(secondFactors.confirmedAt),
    })
    .returning({ personId: secondFactors.personId });
  return put.length > 0;
}

export async function updateFactor(
  tx: Tx,
  personId: number,
  change: Partial<Pick<SecondFactor, 'confirmedAt' | 'lastStep'>>,
): Promise<void> {
  await tx.update(secondFactors).set(change).where(eq(secondFactors.personId, personId));
}

/** Takes away a person's key, their recovery codes, and the sign-ins that wait for a code. */
export async function deleteFactor(tx: Tx, personId: number): Promise<void> {
  await tx.delete(secondFactors).where(eq(secondFactors.personId, personId));
  await tx.delete(recoveryCodes).where(eq(recoveryCodes.personId, personId));
  await endSteps(tx, personId);
}

/** A recovery code is kept as its beginning, a space, and a hash of the whole. */
export async function replaceRecoveryCodes(
  tx: Tx,
  personId: number,
  codes: { beginning: string; hash: string }[],
): Promise<void> {
  await tx.delete(recoveryCodes).where(eq(recoveryCodes.personId, personId));
  await tx
    .insert(recoveryCodes)
    .values(codes.map(({ beginning, hash }) => ({ personId, hash: `${beginning} ${hash}` })));
}

const unused = (personId: number) => and(eq(recoveryCodes.personId, personId), isNull(recoveryCodes.usedAt));

/** The one code of a person that begins so and was not used. */
export async function findRecoveryCode(
  db: Executor,
  personId: number,
  beginning: string,
): Promise<{ id: number; hash: string } | null> {
  const [row] = await db
    .select({ id: recoveryCodes.id, hash: recoveryCodes.hash })
    .from(recoveryCodes)
    .where(and(unused(personId), like(recoveryCodes.hash, `${beginning} %`)));
  return row ? { id: row.id, hash: row.hash.slice(beginning.length + 1) } : null;
}

export const countRecoveryCodes = (db: Executor, personId: number): Promise<number> =>
  db.$count(recoveryCodes, unused(personId));

/** Of two at once, one uses it. */
export async function useRecoveryCode(tx: Tx, id: number, now: Instant): Promise<boolean> {
  const used = await tx
    .update(recoveryCodes)
    .set({ usedAt: now })
    .where(and(eq(recoveryCodes.id, id), isNull(recoveryCodes.usedAt)))
    .returning({ id: recoveryCodes.id });
  return used.length > 0;
}

// Sign-ins that wait for a code

export type SignInStep = typeof signInSteps.$inferSelect;

export async function insertStep(tx: Tx, values: Omit<SignInStep, 'tries'>): Promise<void> {
  await tx.insert(signInSteps).values(values);
}

export async function findStep(
  db: Executor,
  hash: string,
  now: Instant,
): Promise<{ personId: number; email: string } | null> {
  const [row] = await db
    .select({ personId: signInSteps.personId, email: people.email })
    .from(signInSteps)
    .innerJoin(people, eq(people.id, signInSteps.personId))
    .where(and(eq(signInSteps.hash, hash), gt(signInSteps.expiresAt, now)));
  return row ?? null;
}

export async function lockStep(tx: Tx, hash: string): Promise<SignInStep | null> {
  const [row] = await tx.select().from(signInSteps).where(eq(signInSteps.hash, hash)).for('update');
  return row ?? null;
}

export async function updateStep(tx: Tx, hash: string, tries: number): Promise<void> {
  await tx.update(signInSteps).set({ tries }).where(eq(signInSteps.hash, hash));
}

export async function deleteStep(tx: Tx, hash: string): Promise<void> {
  await tx.delete(signInSteps).where(eq(signInSteps.hash, hash));
}

/** Whoever has typed the password of this person must type it again. */
export async function endSteps(tx: Tx, personId: number): Promise<void> {
  await tx.delete(signInSteps).where(eq(signInSteps.personId, personId));
}

export async function deleteStepsUntil(db: Executor, then: Instant): Promise<void> {
  await db.delete(signInSteps).where(lte(signInSteps.expiresAt, then));
}

// Tablets

export type DeviceRow = typeof devices.$inferSelect;

/** Until its one-time code is typed on it, a tablet keeps that code's hash, marked so that no cookie can match it. */
const WAITING = 'waiting ';
export const isWaiting = ({ hash }: Pick<DeviceRow, 'hash'>): boolean => hash.startsWith(WAITING);

export async function insertDevice(
  tx: Tx,
  {
    waiting,
    hash,
    ...values
  }: Pick<DeviceRow, 'name' | 'hash' | 'pairedBy' | 'pairedAt'> & { waiting: boolean },
): Promise<number> {
  const [row] = await tx
    .insert(devices)
    .values({ ...values, hash: waiting ? WAITING + hash : hash })
    .returning({ id: devices.id });
  return (row as { id: number }).id;
}

/** The tablet that waited for this code, now holding its own secret; of two at once, one gets it. */
export async function claimDevice(
  tx: Tx,
  code: { hash: string; madeSince: Instant },
  own: { hash: string; pairedAt: Instant },
): Promise<DeviceRow | null> {
  const [row] = await tx
    .update(devices)
    .set(own)
    .where(
      and(
        eq(devices.hash, WAITING + code.hash),
        gt(devices.pairedAt, code.madeSince),
        isNull(devices.revokedAt),
      ),
    )
    .returning();
  return row ?? null;
}

/** Tablets that are paired, or wait for a code made since then. */
export async function liveDevices(db: Executor, madeSince: Instant): Promise<(DeviceRow & { by: string })[]> {
  const rows = await db
    .select({ device: devices, by: people.name })
    .from(devices)
    .innerJoin(people, eq(people.id, devices.pairedBy))
    .where(
      and(
        isNull(devices.revokedAt),
        or(not(like(devices.hash, `${WAITING}%`)), gt(devices.pairedAt, madeSince)),
      ),
    )
    .orderBy(asc(sql`lower(${devices.name})`));
  return rows.map(({ device, by }) => ({ ...device, by }));
}

export async function revokeDevice(
  tx: Tx,
  which: { name: string } | { hash: string },
  now: Instant,
): Promise<number[]> {
  const rows = await tx
    .update(devices)
    .set({ revokedAt: now })
    .where(
      and(
        isNull(devices.revokedAt),
        'name' in which ? eq(devices.name, which.name) : eq(devices.hash, which.hash),
      ),
    )
    .returning({ id: devices.id });
  await tellEnded(tx);
  return rows.map(({ id }) => id);
}

// People at a tablet

export type Nameable = Pick<Person, 'id' | 'name' | 'email' | 'role' | 'joinedAt' | 'pinHash'>;

const nameable = (db: Executor) => {
  const { id, name, email, role, joinedAt, pinHash } = people;
  return db.select({ id, name, email, role, joinedAt, pinHash }).from(people);
};

export async function activePeople(db: Executor): Promise<Nameable[]> {
  return nameable(db).where(eq(people.active, true));
}

export async function findByCard(db: Executor, hash: string): Promise<Nameable | null> {
  const [row] = await nameable(db).where(and(eq(people.cardHash, hash), eq(people.active, true)));
  return row ?? null;
}

// How people are told

export async function choicesOf(
  db: Executor,
  personId: number,
): Promise<{ chosen: Map<string, Way>; quiet: Quiet }> {
  const [rows, [person]] = await Promise.all([
    db.select().from(toldChoices).where(eq(toldChoices.personId, personId)),
    db
      .select({ from: people.quietFrom, until: people.quietUntil })
      .from(people)
      .where(eq(people.id, personId)),
  ]);
  return {
    chosen: new Map(rows.map(({ kind, way }) => [kind, way])),
    quiet: person ?? { from: null, until: null },
  };
}

export async function keepChoices(
  tx: Tx,
  personId: number,
  chosen: { kind: ToldKind; way: Way }[],
): Promise<void> {
  if (chosen.length === 0) return;
  await tx
    .insert(toldChoices)
    .values(chosen.map((one) => ({ personId, ...one })))
    .onConflictDoUpdate({
      target: [toldChoices.personId, toldChoices.kind],
      set: { way: sql`excluded.way` },
    });
}

export async function setQuiet(tx: Tx, personId: number, { from, until }: Quiet): Promise<void> {
  await tx.update(people).set({ quietFrom: from, quietUntil: until }).where(eq(people.id, personId));
}

export async function setDigestAt(tx: Tx, digestAt: number): Promise<void> {
  await tx.update(studio).set({ digestAt });
}

export async function digestMinute(db: Executor): Promise<number> {
  const [row] = await db.select({ at: studio.digestAt }).from(studio);
  return row?.at ?? 0;
}
