import { sql } from 'drizzle-orm';
import {
  boolean,
  check,
  doublePrecision,
  foreignKey,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  smallint,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core';
import { buckets } from '../buckets/schema.ts';
import { identity, instant, reference } from '../core/database.ts';
import { files, people, tokens } from '../core/schema.ts';
import { kilns } from '../kilns/schema.ts';
import { materials, recipeVersions } from '../materials/schema.ts';
import { clays } from '../ware/schema.ts';
import type { SafetySettings } from './settings.ts';
import type { ClassBasis } from './worse.ts';

/** What the studio chose; one row, none until something was changed. */
export const safetySettings = pgTable(
  'safety_settings',
  { id: smallint('id').primaryKey().default(1), value: jsonb('value').$type<SafetySettings>().notNull() },
  (t) => [check('safety_settings_is_one', sql`${t.id} = 1`)],
);

/** What people wrote, and what an erasure may blank: beside the ledgers of this feature. */
export const safetyNotes = pgTable('safety_notes', { id: identity(), text: text('text').notNull() });

/** What a notice hangs on; what it says is in its versions. */
export const notices = pgTable(
  'notices',
  {
    id: identity(),
    number: integer('number').notNull(),
    scope: text('scope').$type<'bucket' | 'material' | 'kiln' | 'room' | 'everywhere'>().notNull(),
    bucketId: reference('bucket_id').references(() => buckets.id),
    materialId: reference('material_id').references(() => materials.id),
    kilnId: reference('kiln_id').references(() => kilns.id),
    room: text('room'),
    latestVersion: integer('latest_version').notNull(),
  },
  (t) => [
    uniqueIndex('notices_number').on(t.number),
    index('notices_bucket').on(t.bucketId),
    check('notices_scope', sql`${t.scope} in ('bucket', 'material', 'kiln', 'room', 'everywhere')`),
  ],
);

/** Append-only: a notice as it was posted, or that it was taken down. */
export const noticeVersions = pgTable(
  'notice_versions',
  {
    noticeId: reference('notice_id')
      .notNull()
      .references(() => notices.id, { onDelete: 'restrict' }),
    version: integer('version').notNull(),
    kind: text('kind').$type<'posted' | 'withdrawn'>().notNull(),
    title: text('title').notNull(),
    /** Three lines by task, each beyond the common rules; empty where there is nothing to say. */
    dipping: text('dipping').notNull(),
    mixing: text('mixing').notNull(),
    cleaning: text('cleaning').notNull(),
    signalWord: text('signal_word').$type<'Danger' | 'Warning'>(),
    pictograms: text('pictograms').array().notNull(),
    hCodes: text('h_codes').array().notNull(),
    pCodes: text('p_codes').array().notNull(),
    /** The mixture's classes that it was drafted from; null where it was written by hand. */
    basis: jsonb('basis').$type<ClassBasis>(),
    /** Dates as YYYY-MM-DD; null: no end. */
    validFrom: text('valid_from').notNull(),
    validTo: text('valid_to'),
    notForChildren: boolean('not_for_children').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.noticeId, t.version] })],
);

/** Append-only: who read which version of which notice, and the classes it stood for. */
export const noticeReads = pgTable(
  'notice_reads',
  {
    id: identity(),
    noticeId: reference('notice_id').notNull(),
    version: integer('version').notNull(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    /** Null for a notice that stands for no classes: it is read for itself alone. */
    basis: jsonb('basis').$type<ClassBasis>(),
    at: instant('at').notNull(),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
  },
  (t) => [
    uniqueIndex('notice_reads_once').on(t.noticeId, t.version, t.personId),
    index('notice_reads_person').on(t.personId),
    foreignKey({
      name: 'notice_reads_version',
      columns: [t.noticeId, t.version],
      foreignColumns: [noticeVersions.noticeId, noticeVersions.version],
    }).onDelete('restrict'),
  ],
);

/** Append-only: what somebody was shown, when and by whom; a void names the row it strikes out. */
export const inductions = pgTable(
  'inductions',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    verb: text('verb').notNull(),
    /** YYYY-MM-DD. */
    givenOn: text('given_on').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
    voids: reference('voids'),
    noteId: reference('note_id').references(() => safetyNotes.id, { onDelete: 'restrict' }),
  },
  (t) => [
    index('inductions_person').on(t.personId, t.verb),
    uniqueIndex('inductions_voided_once').on(t.voids).where(sql`${t.voids} is not null`),
    foreignKey({ name: 'inductions_voids', columns: [t.voids], foreignColumns: [t.id] }).onDelete('restrict'),
  ],
);

/** Append-only: a teacher's briefing of a class, for the day. Names of students are in the note. */
export const briefings = pgTable(
  'briefings',
  {
    id: identity(),
    number: integer('number').notNull(),
    className: text('class_name').notNull(),
    heads: integer('heads').notNull(),
    hasChildren: boolean('has_children').notNull(),
    /** YYYY-MM-DD. */
    heldOn: text('held_on').notNull(),
    /** Codes of the buckets the class dips from, whose notices were read out. */
    bucketCodes: text('bucket_codes').array().notNull(),
    rosterId: reference('roster_id')
      .notNull()
      .references(() => safetyNotes.id, { onDelete: 'restrict' }),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [uniqueIndex('briefings_number').on(t.number), index('briefings_day').on(t.heldOn)],
);

/** Append-only: a briefing that was not held as it stands, by whom it was struck out, and why. */
export const briefingStrikes = pgTable('briefing_strikes', {
  briefingId: reference('briefing_id')
    .primaryKey()
    .references(() => briefings.id, { onDelete: 'restrict' }),
  by: reference('by')
    .notNull()
    .references(() => people.id, { onDelete: 'restrict' }),
  at: instant('at').notNull(),
  noteId: reference('note_id')
    .notNull()
    .references(() => safetyNotes.id, { onDelete: 'restrict' }),
});

/** Something that comes round again. */
export const duties = pgTable('duties', {
  id: identity(),
  number: integer('number').notNull().unique('duties_number'),
  name: text('name').notNull(),
  /** Days between; 0: after each session. */
  everyDays: integer('every_days').notNull(),
  /** The kind of log entry that meets it. */
  kind: text('kind').notNull(),
  forRole: text('for_role').$type<'member' | 'technician' | 'manager'>().notNull(),
  fromOn: text('from_on').notNull(),
  endedAt: instant('ended_at'),
});

/** Append-only: the safety log. Amendments, follow-ups and closings are rows about an earlier one. */
export const safetyEntries = pgTable(
  'safety_entries',
  {
    number: integer('number').primaryKey(),
    kind: text('kind').notNull(),
    /** The entry this one amends, follows up or closes. */
    about: integer('about'),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    place: text('place').notNull(),
    bucketId: reference('bucket_id').references(() => buckets.id, { onDelete: 'restrict' }),
    materialId: reference('material_id').references(() => materials.id, { onDelete: 'restrict' }),
    kilnId: reference('kiln_id').references(() => kilns.id, { onDelete: 'restrict' }),
    dutyId: reference('duty_id').references(() => duties.id, { onDelete: 'restrict' }),
    /** Personal health details: technicians and managers only. */
    restricted: boolean('restricted').notNull(),
    whatId: reference('what_id').references(() => safetyNotes.id, { onDelete: 'restrict' }),
    actionId: reference('action_id').references(() => safetyNotes.id, { onDelete: 'restrict' }),
    ownerId: reference('owner_id').references(() => people.id, { onDelete: 'restrict' }),
    dueOn: text('due_on'),
    v: smallint('v').notNull(),
    /** A measurement or a quantity, by kind. */
    payload: jsonb('payload').notNull(),
  },
  (t) => [
    index('safety_entries_time').on(t.happenedAt),
    index('safety_entries_about').on(t.about),
    index('safety_entries_kind').on(t.kind, t.happenedAt),
    foreignKey({ name: 'safety_entries_about_fk', columns: [t.about], foreignColumns: [t.number] }).onDelete(
      'restrict',
    ),
  ],
);

/** Append-only. */
export const safetyPhotos = pgTable(
  'safety_photos',
  {
    entry: integer('entry')
      .notNull()
      .references(() => safetyEntries.number, { onDelete: 'restrict' }),
    fileId: reference('file_id')
      .notNull()
      .references(() => files.id, { onDelete: 'restrict' }),
  },
  (t) => [primaryKey({ columns: [t.entry, t.fileId] })],
);

/** A rinse bucket, the mixed reclaim, or a drum for what is thrown away. */
export const containers = pgTable(
  'containers',
  {
    id: identity(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    kind: text('kind').$type<'rinse' | 'reclaim' | 'waste'>().notNull(),
    place: text('place').notNull(),
    /** The glaze whose tools are rinsed in it. */
    parentBucketId: reference('parent_bucket_id').references(() => buckets.id),
    capacityL: doublePrecision('capacity_l').notNull(),
    lastNumber: integer('last_number').notNull(),
    litres: doublePrecision('litres').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [
    uniqueIndex('containers_code').on(sql`lower(${t.code})`),
    index('containers_parent').on(t.parentBucketId),
  ],
);

/** Append-only: what went into a container and what became of it. */
export const containerEvents = pgTable(
  'container_events',
  {
    containerId: reference('container_id')
      .notNull()
      .references(() => containers.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    kind: text('kind')
      .$type<'in' | 'moved-in' | 'moved-out' | 'sieved-back' | 'disposal' | 'level' | 'void'>()
      .notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    litres: doublePrecision('litres').notNull(),
    /** The bucket it came from or went back into, with the row of that bucket's ledger. */
    bucketId: reference('bucket_id').references(() => buckets.id, { onDelete: 'restrict' }),
    bucketEvent: integer('bucket_event'),
    voids: integer('voids'),
    noteId: reference('note_id').references(() => safetyNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
    /** Recipes in it, gravity, and for a disposal how, by whom, under which permission and number. */
    payload: jsonb('payload').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.containerId, t.number] }),
    index('container_events_bucket').on(t.bucketId),
    uniqueIndex('container_events_voided_once').on(t.containerId, t.voids).where(sql`${t.voids} is not null`),
  ],
);

/** Append-only: a manager's record of what may go down a drain here, and who allows it. */
export const drainPermissions = pgTable('drain_permissions', {
  id: identity(),
  containerId: reference('container_id')
    .notNull()
    .references(() => containers.id, { onDelete: 'restrict' }),
  authority: text('authority').notNull(),
  validTo: text('valid_to').notNull(),
  by: reference('by')
    .notNull()
    .references(() => people.id, { onDelete: 'restrict' }),
  at: instant('at').notNull(),
});

/** Append-only: a laboratory's figures for lead and cadmium, or that one of them counts no longer. */
export const leachTests = pgTable(
  'leach_tests',
  {
    id: identity(),
    number: integer('number').notNull(),
    recipeId: reference('recipe_id').notNull(),
    recipeVersion: integer('recipe_version').notNull(),
    clayId: reference('clay_id').references(() => clays.id, { onDelete: 'restrict' }),
    cone: text('cone').notNull(),
    /** 'us-fda', 'eu-84-500', 'iso-6486-2'. */
    rules: text('rules').notNull(),
    category: text('category').notNull(),
    passed: boolean('passed').notNull(),
    lab: text('lab').notNull(),
    /** YYYY-MM-DD. */
    testedOn: text('tested_on').notNull(),
    /** The ware, the figures and the samples that decided. */
    payload: jsonb('payload').notNull(),
    v: smallint('v').notNull(),
    fileId: reference('file_id').references(() => files.id, { onDelete: 'restrict' }),
    voids: integer('voids'),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [
    uniqueIndex('leach_tests_number').on(t.number),
    index('leach_tests_recipe').on(t.recipeId, t.recipeVersion),
    uniqueIndex('leach_tests_voided_once').on(t.voids).where(sql`${t.voids} is not null`),
    foreignKey({
      name: 'leach_tests_recipe_version',
      columns: [t.recipeId, t.recipeVersion],
      foreignColumns: [recipeVersions.recipeId, recipeVersions.version],
    }).onDelete('restrict'),
  ],
);
