import { sql } from 'drizzle-orm';
import {
  type AnyPgColumn,
  bigint,
  check,
  date,
  foreignKey,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  smallint,
  text,
  unique,
  uniqueIndex,
} from 'drizzle-orm/pg-core';
import { identity, instant, reference } from '../core/database.ts';
import { people, tokens } from '../core/schema.ts';
import { kilns } from '../kilns/schema.ts';
import type { FiringKind } from '../ware/firing.ts';
import { groups, pieces } from '../ware/schema.ts';
import type { AccountKind, EntryKind } from './ledger.ts';
import type { Tariff } from './tariff.ts';

/** Minor units of the studio's currency. */
const minor = (name: string) => bigint(name, { mode: 'bigint' });
/** A month as '2026-03': stored with what is counted in it, never derived. */
const period = () => text('period').notNull();

/** One row, locked by whoever writes into the ledger: its last numbers, and the last month that is closed. */
export const feeBooks = pgTable(
  'fee_books',
  {
    id: smallint('id').primaryKey().default(1),
    lastEntry: integer('last_entry').notNull().default(0),
    lastAccount: integer('last_account').notNull().default(0),
    lastTariff: integer('last_tariff').notNull().default(0),
    lastRequest: integer('last_request').notNull().default(0),
    closedThrough: text('closed_through'),
  },
  (t) => [check('fee_books_is_one', sql`${t.id} = 1`)],
);

/** Somebody who owes, or one of the studio's own accounts, told apart by its key. */
export const feeAccounts = pgTable(
  'fee_accounts',
  {
    id: identity(),
    kind: text('kind').$type<AccountKind>().notNull(),
    /** Of a payer's account, as it is addressed. */
    number: integer('number'),
    key: text('key'),
    personId: reference('person_id').references(() => people.id),
    groupId: reference('group_id').references(() => groups.id),
    /** By which a price list tells members, students and guests apart; null: the studio's first class. */
    memberClass: text('member_class'),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [
    uniqueIndex('fee_accounts_number').on(t.number),
    uniqueIndex('fee_accounts_key').on(t.kind, t.key),
    uniqueIndex('fee_accounts_person').on(t.personId),
    uniqueIndex('fee_accounts_group').on(t.groupId),
    check(
      'fee_accounts_kind',
      sql`(${t.kind} = 'payer') = (num_nonnulls(${t.personId}, ${t.groupId}) = 1)
        and (${t.kind} = 'payer') = (${t.number} is not null)
        and (${t.kind} = 'payer') = (${t.key} is null)`,
    ),
  ],
);

/** A version of the price list. Once in force it is never changed: the database refuses it. */
export const tariffs = pgTable(
  'tariffs',
  {
    id: identity(),
    number: integer('number').notNull(),
    name: text('name').notNull(),
    validFrom: date('valid_from').notNull(),
    /** The last day; null: until a later one begins. */
    validUntil: date('valid_until'),
    value: jsonb('value').$type<Tariff>().notNull(),
    /** The number of the version it was begun from. */
    basedOn: integer('based_on'),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
    changedAt: instant('changed_at').notNull(),
    inForceAt: instant('in_force_at'),
    inForceBy: reference('in_force_by').references(() => people.id),
  },
  (t) => [uniqueIndex('tariffs_number').on(t.number), index('tariffs_valid').on(t.validFrom)],
);

/** Words about an entry; an erasure may blank them. */
export const feeNotes = pgTable('fee_notes', { id: identity(), text: text('text').notNull() });

/** Append-only: charges, credits and payments, each with a payer. Its postings sum to zero. */
export const feeEntries = pgTable(
  'fee_entries',
  {
    id: identity(),
    number: integer('number').notNull(),
    kind: text('kind').$type<EntryKind>().notNull(),
    period: period(),
    /** Of the studio's calendar, when it happened. */
    day: date('day').notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    /** Whoever owes more (or, below zero, less) by it. */
    accountId: reference('account_id')
      .notNull()
      .references(() => feeAccounts.id, { onDelete: 'restrict' }),
    amountMinor: minor('amount_minor').notNull(),
    netMinor: minor('net_minor').notNull(),
    taxMinor: minor('tax_minor').notNull(),
    /** The entry it strikes out, in full. */
    voids: reference('voids').references((): AnyPgColumn => feeEntries.id, { onDelete: 'restrict' }),
    /** The entry it is a correction or credit of. */
    about: reference('about').references((): AnyPgColumn => feeEntries.id, { onDelete: 'restrict' }),
    pieceId: reference('piece_id').references(() => pieces.id, { onDelete: 'restrict' }),
    load: integer('load'),
    kilnId: reference('kiln_id').references(() => kilns.id, { onDelete: 'restrict' }),
    firingKind: text('firing_kind').$type<FiringKind>(),
    cone: text('cone'),
    tariffId: reference('tariff_id').references(() => tariffs.id, { onDelete: 'restrict' }),
    /** The code of the price list's line or item. */
    line: text('line'),
    /** Of its bounding box as it was registered. */
    cm3: bigint('cm3', { mode: 'number' }),
    noteId: reference('note_id').references(() => feeNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
    /** What a screen says of it: see `entryPayload`. */
    payload: jsonb('payload').notNull(),
  },
  (t) => [
    uniqueIndex('fee_entries_number').on(t.number),
    unique('fee_entries_in_period').on(t.id, t.period),
    uniqueIndex('fee_entries_voided_once').on(t.voids).where(sql`${t.voids} is not null`),
    uniqueIndex('fee_entries_charged_once').on(t.pieceId, t.load).where(sql`${t.kind} = 'firing'`),
    uniqueIndex('fee_entries_dues_once').on(t.accountId, t.line, t.period).where(sql`${t.kind} = 'dues'`),
    index('fee_entries_account').on(t.accountId, t.number),
    index('fee_entries_period').on(t.period, t.number),
    index('fee_entries_day').on(t.day, t.number),
    index('fee_entries_load').on(t.load),
    index('fee_entries_piece').on(t.pieceId),
    index('fee_entries_about').on(t.about),
    check('fee_entries_period', sql`${t.period} ~ '^[0-9]{4}-(0[1-9]|1[0-2])$'`),
    check(
      'fee_entries_sum',
      sql`${t.amountMinor} = ${t.netMinor} + ${t.taxMinor} and abs(${t.amountMinor}) <= 1000000000000`,
    ),
  ],
);

/** Append-only: the two or three sides of an entry; what is owed or received counts up, income down. */
export const feePostings = pgTable(
  'fee_postings',
  {
    entryId: reference('entry_id').notNull(),
    position: smallint('position').notNull(),
    accountId: reference('account_id')
      .notNull()
      .references(() => feeAccounts.id, { onDelete: 'restrict' }),
    period: period(),
    amountMinor: minor('amount_minor').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.entryId, t.position] }),
    foreignKey({
      name: 'fee_postings_entry',
      columns: [t.entryId, t.period],
      foreignColumns: [feeEntries.id, feeEntries.period],
    }).onDelete('restrict'),
    index('fee_postings_account').on(t.accountId, t.period),
  ],
);

/** Append-only: months closed and opened again, with the totals that were frozen. */
export const feeClosings = pgTable(
  'fee_closings',
  {
    id: identity(),
    period: period(),
    act: text('act').$type<'closed' | 'reopened'>().notNull(),
    at: instant('at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    noteId: reference('note_id').references(() => feeNotes.id, { onDelete: 'restrict' }),
    totals: jsonb('totals').notNull(),
  },
  (t) => [index('fee_closings_period').on(t.period)],
);

/** Append-only: what a piece was said to cost, when it was registered or put right; the newest counts. */
export const feeQuotes = pgTable(
  'fee_quotes',
  {
    id: identity(),
    pieceId: reference('piece_id')
      .notNull()
      .references(() => pieces.id, { onDelete: 'restrict' }),
    tariffId: reference('tariff_id')
      .notNull()
      .references(() => tariffs.id, { onDelete: 'restrict' }),
    amountMinor: minor('amount_minor').notNull(),
    /** Firing by firing, with the arithmetic. */
    payload: jsonb('payload').notNull(),
    at: instant('at').notNull(),
  },
  (t) => [index('fee_quotes_piece').on(t.pieceId, t.id)],
);

/** Append-only: litres of firing that were bought with a card or with clay, and every use of included litres. */
export const feeLitres = pgTable(
  'fee_litres',
  {
    id: identity(),
    accountId: reference('account_id')
      .notNull()
      .references(() => feeAccounts.id, { onDelete: 'restrict' }),
    /** 'month' is the price list's monthly litres: only their use is kept, by period. */
    source: text('source').$type<'month' | 'card' | 'clay'>().notNull(),
    /** The grant that is used up. */
    grantId: reference('grant_id').references((): AnyPgColumn => feeLitres.id, { onDelete: 'restrict' }),
    /** Granted above zero, used below; cm³. */
    cm3: bigint('cm3', { mode: 'number' }).notNull(),
    period: period(),
    entryId: reference('entry_id')
      .notNull()
      .references(() => feeEntries.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [index('fee_litres_account').on(t.accountId, t.source), index('fee_litres_entry').on(t.entryId)],
);

/** What waits for a manager's yes: a ruined shelf, a credit beyond a technician's limit. */
export const feeRequests = pgTable(
  'fee_requests',
  {
    id: identity(),
    number: integer('number').notNull(),
    kind: text('kind').$type<'damage' | 'credit'>().notNull(),
    accountId: reference('account_id')
      .notNull()
      .references(() => feeAccounts.id),
    /** What the payer would owe more or, below zero, less; tax included. */
    amountMinor: minor('amount_minor').notNull(),
    noteId: reference('note_id')
      .notNull()
      .references(() => feeNotes.id),
    pieceId: reference('piece_id').references(() => pieces.id),
    load: integer('load'),
    about: reference('about').references(() => feeEntries.id),
    by: reference('by')
      .notNull()
      .references(() => people.id),
    at: instant('at').notNull(),
    decision: text('decision').$type<'yes' | 'no'>(),
    decidedBy: reference('decided_by').references(() => people.id),
    decidedAt: instant('decided_at'),
    entryId: reference('entry_id').references(() => feeEntries.id),
    /** How it is posted once somebody says yes. */
    payload: jsonb('payload').notNull(),
  },
  (t) => [
    uniqueIndex('fee_requests_number').on(t.number),
    index('fee_requests_open').on(t.decision, t.id),
    check('fee_requests_decided', sql`(${t.decision} is null) = (${t.decidedBy} is null)`),
  ],
);

/** Dues and shelf rent: an item of the price list that somebody is charged every month. */
export const standingCharges = pgTable(
  'standing_charges',
  {
    id: identity(),
    accountId: reference('account_id')
      .notNull()
      .references(() => feeAccounts.id),
    item: text('item').notNull(),
    /** First and last month; null: until it is ended. */
    fromPeriod: text('from_period').notNull(),
    untilPeriod: text('until_period'),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [index('standing_charges_account').on(t.accountId)],
);

/** What the studio chose; one row, none until something was changed. */
export const feeSettings = pgTable(
  'fee_settings',
  { id: smallint('id').primaryKey().default(1), value: jsonb('value').notNull() },
  (t) => [check('fee_settings_is_one', sql`${t.id} = 1`)],
);
