import { sql } from 'drizzle-orm';
import {
  boolean,
  check,
  index,
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
  },
  (t) => [check('studio_is_one', sql`${t.id} = 1`)],
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
  },
  (t) => [
    uniqueIndex('people_email').on(t.email),
    uniqueIndex('people_card').on(t.cardHash),
    check('people_role', sql`${t.role} in ('member', 'technician', 'manager')`),
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
