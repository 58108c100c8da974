import { sql } from 'drizzle-orm';
import {
  bigint,
  boolean,
  check,
  customType,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  smallint,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core';
import { bytes, identity, instant, reference } from './database.ts';
import type { Role } from './policy.ts';
import type { UnitSystem } from './units.ts';

/** The one studio this database belongs to; no row until it has been set up. */
export const studio = pgTable(
  'studio',
  {
    id: smallint('id').primaryKey().default(1),
    name: text('name').notNull(),
    timeZone: text('time_zone').notNull(),
    currency: text('currency').notNull(),
    units: text('units').$type<UnitSystem>().notNull(),
    setUpAt: instant('set_up_at').notNull(),
    /** Minutes after midnight at which technicians get the day's list, and others the day's reminders. */
    digestAt: smallint('digest_at').notNull().default(450),
    /** Technicians and managers are led to a second factor before anything else. */
    staffSecondFactor: boolean('staff_second_factor').notNull().default(false),
  },
  (t) => [
    check('studio_is_one', sql`${t.id} = 1`),
    check('studio_digest', sql`${t.digestAt} between 0 and 1439`),
  ],
);

export const people = pgTable(
  'people',
  {
    id: identity(),
    name: text('name').notNull(),
    email: text('email').notNull(),
    role: text('role').$type<Role>().notNull(),
    units: text('units').$type<UnitSystem>(),
    passwordHash: text('password_hash').notNull(),
    /** Four digits at a paired tablet; null: none chosen. */
    pinHash: text('pin_hash'),
    /** Of the secret in the QR code on the person's card. */
    cardHash: text('card_hash'),
    active: boolean('active').notNull().default(true),
    joinedAt: instant('joined_at').notNull(),
    /** Minutes after midnight in the studio between which no mail goes out to them; null: none chosen. */
    quietFrom: smallint('quiet_from'),
    quietUntil: smallint('quiet_until'),
  },
  (t) => [
    uniqueIndex('people_email').on(t.email),
    uniqueIndex('people_card').on(t.cardHash),
    check('people_role', sql`${t.role} in ('member', 'technician', 'manager')`),
    check(
      'people_quiet',
      sql`(${t.quietFrom} is null) = (${t.quietUntil} is null)
        and ${t.quietFrom} between 0 and 1439 and ${t.quietUntil} between 0 and 1439`,
    ),
  ],
);

/** The primary key is the SHA-256 of the id the browser holds: a copy of this table opens nothing. */
export const sessions = pgTable(
  'sessions',
  {
    idHash: text('id_hash').primaryKey(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    expiresAt: instant('expires_at').notNull(),
  },
  (t) => [index('sessions_person').on(t.personId)],
);

/** The key a person's phone counts codes from; it proves nothing until a code of it was typed once. */
export const secondFactors = pgTable('second_factors', {
  personId: reference('person_id')
    .primaryKey()
    .references(() => people.id),
  secret: text('secret').notNull(),
  madeAt: instant('made_at').notNull(),
  confirmedAt: instant('confirmed_at'),
  /** The time step of the last code that was taken: none is taken twice. */
  lastStep: bigint('last_step', { mode: 'number' }).notNull().default(0),
});

export const tokens = pgTable(
  'tokens',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    name: text('name').notNull(),
    hash: text('hash').notNull(),
    /** Null: whatever the person may do. */
    scopes: text('scopes').array(),
    createdAt: instant('created_at').notNull(),
    expiresAt: instant('expires_at'),
    revokedAt: instant('revoked_at'),
  },
  (t) => [uniqueIndex('tokens_hash').on(t.hash), index('tokens_person').on(t.personId)],
);

export const idempotencyKeys = pgTable(
  'idempotency_keys',
  {
    personId: reference('person_id').notNull(),
    key: text('key').notNull(),
    fingerprint: text('fingerprint').notNull(),
    answer: jsonb('answer'),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.personId, t.key] }), index('idempotency_keys_age').on(t.madeAt)],
);

/** A tablet at the wall that a technician paired: it shows the wall to whoever stands there. */
export const devices = pgTable(
  'devices',
  {
    id: identity(),
    name: text('name').notNull(),
    hash: text('hash').notNull(),
    pairedBy: reference('paired_by')
      .notNull()
      .references(() => people.id),
    pairedAt: instant('paired_at').notNull(),
    revokedAt: instant('revoked_at'),
  },
  (t) => [uniqueIndex('devices_hash').on(t.hash)],
);

/** Pictures, re-encoded by us; never in a list query, served by their hash. */
export const files = pgTable(
  'files',
  {
    id: identity(),
    sha256: text('sha256').notNull(),
    type: text('type').notNull(),
    bytes: bytes('bytes').notNull(),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [uniqueIndex('files_sha256').on(t.sha256)],
);

/** What a person is told of; written in the transaction of the act it tells of. */
export const messages = pgTable(
  'messages',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    at: instant('at').notNull(),
    kind: text('kind').notNull(),
    words: text('words').notNull(),
    href: text('href').notNull(),
    readAt: instant('read_at'),
  },
  (t) => [index('messages_person').on(t.personId, t.readAt, t.at)],
);

/** How a person wants to be told of one kind of thing; no row: as the kind's own default. */
export const toldChoices = pgTable(
  'told_choices',
  {
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    kind: text('kind').notNull(),
    way: text('way').$type<'inbox' | 'mail' | 'none'>().notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.personId, t.kind] }),
    check('told_choices_way', sql`${t.way} in ('inbox', 'mail', 'none')`),
  ],
);

/** What a person was reminded of, so that nobody is told the same twice. */
export const reminders = pgTable(
  'reminders',
  {
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    key: text('key').notNull(),
    at: instant('at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.personId, t.key] }), index('reminders_age').on(t.at)],
);

/** Mail on its way out: written in the transaction of what it tells of, sent by whichever process takes it. */
export const mails = pgTable(
  'mails',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    kind: text('kind').notNull(),
    subject: text('subject').notNull(),
    body: text('body').notNull(),
    madeAt: instant('made_at').notNull(),
    /** Not before then: their quiet time, or the next try. */
    dueAt: instant('due_at').notNull(),
    tries: integer('tries').notNull().default(0),
    lastError: text('last_error'),
    /** The address it went to, which may be another than today's. */
    sentTo: text('sent_to'),
    sentAt: instant('sent_at'),
    givenUpAt: instant('given_up_at'),
  },
  (t) => [
    index('mails_waiting').on(t.dueAt).where(sql`${t.sentAt} is null and ${t.givenUpAt} is null`),
    index('mails_person').on(t.personId, t.id),
  ],
);

const transactionId = customType<{ data: string }>({ dataType: () => 'xid8' });

/**
 * What changed, for open screens and hooks: one row for each change, written by triggers in the transaction that
 * changed it. Whoever reads them keeps the oldest transaction still open, and goes on from there: an id alone would
 * miss what was numbered early and committed late.
 */
export const changes = pgTable(
  'changes',
  {
    id: identity(),
    xid: transactionId('xid').notNull().default(sql`pg_current_xact_id()`),
    at: instant('at').notNull().default(sql`now()`),
    what: text('what')
      .$type<'bucket' | 'load' | 'kiln' | 'piece' | 'person' | 'notice' | 'duty' | 'entry'>()
      .notNull(),
    subjectId: reference('subject_id').notNull(),
  },
  (t) => [index('changes_xid').on(t.xid), index('changes_at').on(t.at)],
);

/** Where the studio's other systems are told of changes. The secret signs what is sent, so it is kept as it is. */
export const hooks = pgTable('hooks', {
  id: identity(),
  name: text('name').notNull(),
  url: text('url').notNull(),
  secret: text('secret').notNull(),
  whats: text('whats').array().notNull(),
  madeBy: reference('made_by')
    .notNull()
    .references(() => people.id),
  madeAt: instant('made_at').notNull(),
  /** Every change of a transaction before this one was put among its calls. */
  seenTo: transactionId('seen_to').notNull(),
  /** When that was: of what changed longer ago than changes are kept, nobody can say any more what it was. */
  seenAt: instant('seen_at').notNull(),
  /** Calls in a row that were given up. */
  failures: integer('failures').notNull().default(0),
  pausedAt: instant('paused_at'),
  pausedWhy: text('paused_why'),
  endedAt: instant('ended_at'),
});

export const hookCalls = pgTable(
  'hook_calls',
  {
    id: identity(),
    hookId: reference('hook_id')
      .notNull()
      .references(() => hooks.id),
    what: text('what').notNull(),
    /** A bucket's or kiln's code, a load's or piece's number. */
    subject: text('subject').notNull(),
    changedAt: instant('changed_at').notNull(),
    dueAt: instant('due_at').notNull(),
    tries: integer('tries').notNull().default(0),
    /** What the last try was answered with; null: nothing. */
    status: smallint('status'),
    lastError: text('last_error'),
    doneAt: instant('done_at'),
    givenUpAt: instant('given_up_at'),
  },
  (t) => [
    index('hook_calls_waiting').on(t.dueAt).where(sql`${t.doneAt} is null and ${t.givenUpAt} is null`),
    index('hook_calls_hook').on(t.hookId, t.id),
  ],
);

/** Append-only. Who did what to people, roles and settings; `details` holds ids and codes, never names. */
export const audit = pgTable('audit', {
  id: identity(),
  at: instant('at').notNull(),
  by: reference('by'),
  tokenId: reference('token_id'),
  act: text('act').notNull(),
  subject: text('subject').notNull(),
  details: jsonb('details').notNull().default({}),
});
