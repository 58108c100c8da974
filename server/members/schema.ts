import { sql } from 'drizzle-orm';
import { check, index, pgTable, smallint, text, uniqueIndex } from 'drizzle-orm/pg-core';
import { identity, instant, reference } from '../core/database.ts';
import type { Role } from '../core/policy.ts';
import { people } from '../core/schema.ts';

/** An invitation or a password reset: used once, within a day, stored as a hash. */
export const links = pgTable(
  'links',
  {
    id: identity(),
    kind: text('kind').$type<'invitation' | 'reset'>().notNull(),
    hash: text('hash').notNull(),
    email: text('email'),
    role: text('role').$type<Role>(),
    personId: reference('person_id').references(() => people.id),
    madeBy: reference('made_by').references(() => people.id),
    madeAt: instant('made_at').notNull(),
    expiresAt: instant('expires_at').notNull(),
    usedAt: instant('used_at'),
  },
  (t) => [
    uniqueIndex('links_hash').on(t.hash),
    check(
      'links_kind',
      sql`(${t.kind} = 'invitation' and ${t.email} is not null and ${t.role} is not null)
        or (${t.kind} = 'reset' and ${t.personId} is not null)`,
    ),
  ],
);

export const signInFailures = pgTable(
  'sign_in_failures',
  {
    id: identity(),
    email: text('email').notNull(),
    address: text('address').notNull(),
    at: instant('at').notNull(),
  },
  (t) => [
    index('sign_in_failures_account').on(t.email, t.address, t.at),
    index('sign_in_failures_address').on(t.address, t.at),
  ],
);

export const recoveryCodes = pgTable(
  'recovery_codes',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    hash: text('hash').notNull(),
    usedAt: instant('used_at'),
  },
  (t) => [uniqueIndex('recovery_codes_hash').on(t.personId, t.hash)],
);

/** A sign-in whose password was right and whose code is still asked for. */
export const signInSteps = pgTable(
  'sign_in_steps',
  {
    hash: text('hash').primaryKey(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    expiresAt: instant('expires_at').notNull(),
    tries: smallint('tries').notNull().default(0),
  },
  (t) => [index('sign_in_steps_person').on(t.personId)],
);
