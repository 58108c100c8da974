import { sql } from 'drizzle-orm';
import {
  boolean,
  check,
  date,
  doublePrecision,
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
import type { Atmosphere, FiringKind } from './firing.ts';
import type { CoatFace, CoatWay } from './route.ts';
import type { Stage } from './stage.ts';

export const clays = pgTable(
  'clays',
  {
    id: identity(),
    name: text('name').notNull(),
    /** The hottest cone it stands. */
    maxCone: text('max_cone').notNull(),
    bisqueCone: text('bisque_cone').notNull(),
    /** Of its wet length: when bone dry, and when fired to its own cone. */
    dryShrinkPercent: doublePrecision('dry_shrink_percent').notNull(),
    firedShrinkPercent: doublePrecision('fired_shrink_percent').notNull(),
    note: text('note').notNull(),
    /** What its bisque should absorb when boiled, percent of its dry mass; null: nobody said. */
    absorptionLow: doublePrecision('absorption_low'),
    absorptionHigh: doublePrecision('absorption_high'),
    /** The programme it is bisqued by, as people here call it. */
    bisqueProgramme: text('bisque_programme').notNull().default(''),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('clays_name').on(sql`lower(${t.name})`)],
);

/** A household or a class that pieces belong to. */
export const groups = pgTable(
  'groups',
  {
    id: identity(),
    kind: text('kind').$type<'household' | 'class'>().notNull(),
    name: text('name').notNull(),
    /** The teacher of a class, or who answers for a household. */
    contactId: reference('contact_id')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('groups_name').on(sql`lower(${t.name})`)],
);

export const groupPeople = pgTable(
  'group_people',
  {
    groupId: reference('group_id')
      .notNull()
      .references(() => groups.id),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
  },
  (t) => [primaryKey({ columns: [t.groupId, t.personId] }), index('group_people_person').on(t.personId)],
);

/** What a person cuts or writes into the foot, with a photo. */
export const marks = pgTable(
  'marks',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    text: text('text').notNull(),
    fileId: reference('file_id').references(() => files.id),
    madeAt: instant('made_at').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [index('marks_person').on(t.personId)],
);

/** What a glaze of the wall does beside others in a kiln. */
export const glazeTraits = pgTable('glaze_traits', {
  bucketId: reference('bucket_id')
    .primaryKey()
    .references(() => buckets.id),
  isRunny: boolean('is_runny').notNull(),
  /** Tray all round a piece that carries it. */
  trayMm: doublePrecision('tray_mm').notNull(),
  /** Words that `glaze_conflicts` names, such as chromium or tin white. */
  tags: text('tags').array().notNull(),
  /** How thick its coat should be when dry; null: as the studio wants every coat. */
  wantedCoatMm: doublePrecision('wanted_coat_mm'),
  /** Of its dry coat, g/cm³, where somebody measured it. */
  dryCoatDensity: doublePrecision('dry_coat_density'),
});

/** Two glazes of the wall that run where one lies over the other, the smaller id first; the same twice for itself. */
export const glazeRuns = pgTable(
  'glaze_runs',
  {
    bucketA: reference('bucket_a')
      .notNull()
      .references(() => buckets.id),
    bucketB: reference('bucket_b')
      .notNull()
      .references(() => buckets.id),
    why: text('why').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.bucketA, t.bucketB] }),
    check('glaze_runs_order', sql`${t.bucketA} <= ${t.bucketB}`),
  ],
);

/** Two tags that must not share a load, and why. */
export const glazeConflicts = pgTable(
  'glaze_conflicts',
  {
    id: identity(),
    tagA: text('tag_a').notNull(),
    tagB: text('tag_b').notNull(),
    why: text('why').notNull(),
  },
  (t) => [uniqueIndex('glaze_conflicts_pair').on(t.tagA, t.tagB)],
);

/** Words about a piece; an erasure may blank them. */
export const pieceNotes = pgTable('piece_notes', { id: identity(), text: text('text').notNull() });

/** A piece as it stands now. What led there is in `piece_events`. */
export const pieces = pgTable(
  'pieces',
  {
    id: identity(),
    number: integer('number').notNull(),
    /** The number of the first piece registered in the same act. */
    batch: integer('batch').notNull(),
    lastEvent: integer('last_event').notNull(),
    stage: text('stage').$type<Stage>().notNull(),
    stageSince: instant('stage_since').notNull(),
    /** Of the load it is in. */
    load: integer('load'),
    /** When it first began to wait for the firing it waits for: a cancelled load gives its place back. */
    waitingSince: instant('waiting_since'),

    form: text('form').notNull(),
    footprint: text('footprint').$type<'circle' | 'rectangle'>().notNull(),
    /** The diameter of a circle, with handle. */
    widthMm: doublePrecision('width_mm').notNull(),
    depthMm: doublePrecision('depth_mm').notNull(),
    heightMm: doublePrecision('height_mm').notNull(),
    measured: text('measured').$type<'wet' | 'dry' | 'bisque'>().notNull(),
    measuredByTechnician: boolean('measured_by_technician').notNull(),
    kg: doublePrecision('kg'),
    thickestMm: doublePrecision('thickest_mm').notNull(),
    isClosed: boolean('is_closed').notNull(),
    hasHole: boolean('has_hole').notNull(),
    stack: text('stack').$type<'nest' | 'rim-to-rim' | 'pile' | 'on-edge' | 'none'>().notNull(),

    /** Null: a clay nobody here knows, called `own_clay`. */
    clayId: reference('clay_id').references(() => clays.id),
    ownClay: text('own_clay'),
    /** The firing that is wanted in the end. */
    kind: text('kind').$type<FiringKind>().notNull(),
    cone: text('cone').notNull(),
    atmosphere: text('atmosphere').$type<Atmosphere>().notNull(),
    wantedBy: date('wanted_by'),
    mark: text('mark').notNull(),
    place: text('place').notNull(),
    fileId: reference('file_id').references(() => files.id),
    noteId: reference('note_id').references(() => pieceNotes.id),

    registeredBy: reference('registered_by')
      .notNull()
      .references(() => people.id),
    registeredAt: instant('registered_at').notNull(),
    /** Whose it is: a person, a group, or nobody known. */
    ownerId: reference('owner_id').references(() => people.id),
    ownerGroupId: reference('owner_group_id').references(() => groups.id),
    payerId: reference('payer_id').references(() => people.id),
    payerGroupId: reference('payer_group_id').references(() => groups.id),

    /** Bone dry by a technician's hand. */
    dryAt: instant('dry_at'),
    dryBy: reference('dry_by').references(() => people.id),
    /** Foot wiped and glaze held back, as whoever glazed it says. */
    footAt: instant('foot_at'),
    /** A technician's yes to an unknown clay or an outside glaze. */
    yesAt: instant('yes_at'),
    yesBy: reference('yes_by').references(() => people.id),
    /** A tray beyond what its glazes ask for. */
    trayMm: doublePrecision('tray_mm').notNull(),
    /** Why it must not go into a load yet, in a technician's words. */
    flag: text('flag'),
  },
  (t) => [
    uniqueIndex('pieces_number').on(t.number),
    index('pieces_owner').on(t.ownerId, t.stage),
    index('pieces_group').on(t.ownerGroupId, t.stage),
    index('pieces_stage').on(t.stage, t.waitingSince),
    index('pieces_load').on(t.load),
    index('pieces_batch').on(t.batch),
    index('pieces_registered').on(t.registeredBy, t.number),
    check('pieces_one_owner', sql`num_nonnulls(${t.ownerId}, ${t.ownerGroupId}) <= 1`),
    check('pieces_one_payer', sql`num_nonnulls(${t.payerId}, ${t.payerGroupId}) <= 1`),
    check('pieces_in_load', sql`(${t.stage} = 'in-load') = (${t.load} is not null)`),
    check('pieces_size', sql`${t.widthMm} > 0 and ${t.depthMm} > 0 and ${t.heightMm} > 0`),
  ],
);

/** Every coat a piece ever had, in the order they went on: what was fired stays under what comes after it. */
export const pieceGlazes = pgTable(
  'piece_glazes',
  {
    pieceId: reference('piece_id')
      .notNull()
      .references(() => pieces.id),
    position: integer('position').notNull(),
    bucketId: reference('bucket_id').references(() => buckets.id),
    /** A glaze from outside: its name and the cones its owner says it takes. */
    ownName: text('own_name'),
    ownConeFrom: text('own_cone_from'),
    ownConeTo: text('own_cone_to'),
    /** What the bucket held when the piece was glazed. */
    gravity: doublePrecision('gravity'),
    reading: integer('reading'),
    batchNumber: integer('batch_number'),
    /** Where on the piece it is; 'all' where nobody said. */
    face: text('face').$type<CoatFace>().notNull().default('all'),
    way: text('way').$type<CoatWay>(),
    /** How long the piece was held in the glaze, or the glaze in the piece. */
    seconds: doublePrecision('seconds'),
    /** Dry thickness as it followed from weighing or from test tiles then. */
    coatMm: doublePrecision('coat_mm'),
    coatFrom: text('coat_from').$type<'weighed' | 'tiles'>(),
    /** Dry thickness as somebody scratched through it with a pin. */
    scratchMm: doublePrecision('scratch_mm'),
    at: instant('at').notNull(),
    /** The load it was fired in; null while it is raw. */
    load: integer('load'),
    /** Wiped off, or written down wrongly, before it was fired. */
    endedAt: instant('ended_at'),
  },
  (t) => [
    primaryKey({ columns: [t.pieceId, t.position] }),
    index('piece_glazes_bucket').on(t.bucketId),
    check('piece_glazes_one', sql`num_nonnulls(${t.bucketId}, ${t.ownName}) = 1`),
  ],
);

/** Append-only: what was done to a piece. */
export const pieceEvents = pgTable(
  'piece_events',
  {
    pieceId: reference('piece_id')
      .notNull()
      .references(() => pieces.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    kind: text('kind').notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    /** The stage it led to, where it changed it. */
    stage: text('stage').$type<Stage>(),
    load: integer('load'),
    fileId: reference('file_id').references(() => files.id, { onDelete: 'restrict' }),
    noteId: reference('note_id').references(() => pieceNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
    payload: jsonb('payload').notNull(),
  },
  (t) => [primaryKey({ columns: [t.pieceId, t.number] })],
);

/** What the studio chose; one row, none until something was changed. */
export const wareSettings = pgTable(
  'ware_settings',
  { id: smallint('id').primaryKey().default(1), value: jsonb('value').notNull() },
  (t) => [check('ware_settings_is_one', sql`${t.id} = 1`)],
);

/** How a piece came out of a firing; the newest row of a piece and load counts. Append-only. */
export const pieceOutcomes = pgTable(
  'piece_outcomes',
  {
    id: identity(),
    pieceId: reference('piece_id')
      .notNull()
      .references(() => pieces.id, { onDelete: 'restrict' }),
    load: integer('load').notNull(),
    outcome: text('outcome').notNull(),
    level: integer('level'),
    fileId: reference('file_id').references(() => files.id, { onDelete: 'restrict' }),
    noteId: reference('note_id').references(() => pieceNotes.id, { onDelete: 'restrict' }),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [
    index('piece_outcomes_load').on(t.load),
    index('piece_outcomes_newest').on(t.pieceId, t.load, t.id),
  ],
);

/**
 * What the bisque of a clay took up: boiled by the standard, or soaked for two minutes the studio's way. Append-only; one
 * that was wrong is struck out.
 */
export const bisqueTests = pgTable(
  'bisque_tests',
  {
    id: identity(),
    clayId: reference('clay_id')
      .notNull()
      .references(() => clays.id, { onDelete: 'restrict' }),
    method: text('method').$type<'boiled' | 'soaked'>().notNull(),
    /** The bisque load the specimens came out of, where it is known. */
    load: integer('load'),
    /** Masses in g, as typed. */
    specimens: jsonb('specimens').notNull(),
    /** Mean and sample spread, percent of the dry mass. */
    absorptionPercent: doublePrecision('absorption_percent').notNull(),
    spreadPercent: doublePrecision('spread_percent'),
    /** Mean of boiled ones, g/cm³. */
    bulkDensity: doublePrecision('bulk_density'),
    at: instant('at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    noteId: reference('note_id').references(() => pieceNotes.id, { onDelete: 'restrict' }),
  },
  (t) => [index('bisque_tests_clay').on(t.clayId, t.id), index('bisque_tests_load').on(t.load)],
);

export const bisqueTestStrikes = pgTable('bisque_test_strikes', {
  testId: reference('test_id')
    .primaryKey()
    .references(() => bisqueTests.id, { onDelete: 'restrict' }),
  by: reference('by')
    .notNull()
    .references(() => people.id, { onDelete: 'restrict' }),
  at: instant('at').notNull(),
  noteId: reference('note_id')
    .notNull()
    .references(() => pieceNotes.id, { onDelete: 'restrict' }),
});

/** A test tile of a clay, dipped into a bucket and weighed. Append-only; one that was wrong is struck out. */
export const coatTiles = pgTable(
  'coat_tiles',
  {
    id: identity(),
    clayId: reference('clay_id')
      .notNull()
      .references(() => clays.id, { onDelete: 'restrict' }),
    bucketId: reference('bucket_id')
      .notNull()
      .references(() => buckets.id, { onDelete: 'restrict' }),
    seconds: doublePrecision('seconds').notNull(),
    specificGravity: doublePrecision('specific_gravity').notNull(),
    /** The reading of the bucket that the gravity follows from; null where somebody typed the gravity. */
    reading: integer('reading'),
    /** Particle density of the bucket's solids then, g/cm³. */
    solidsDensity: doublePrecision('solids_density').notNull(),
    areaCm2: doublePrecision('area_cm2').notNull(),
    beforeGrams: doublePrecision('before_grams').notNull(),
    /** After the dip and the damp sponge. */
    afterGrams: doublePrecision('after_grams').notNull(),
    dryGrams: doublePrecision('dry_grams'),
    dryCoatGrams: doublePrecision('dry_coat_grams').notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    noteId: reference('note_id').references(() => pieceNotes.id, { onDelete: 'restrict' }),
  },
  (t) => [
    index('coat_tiles_pair').on(t.clayId, t.bucketId, t.id),
    check('coat_tiles_gain', sql`${t.afterGrams} > ${t.beforeGrams} and ${t.dryCoatGrams} > 0`),
  ],
);

export const coatTileStrikes = pgTable('coat_tile_strikes', {
  tileId: reference('tile_id')
    .primaryKey()
    .references(() => coatTiles.id, { onDelete: 'restrict' }),
  by: reference('by')
    .notNull()
    .references(() => people.id, { onDelete: 'restrict' }),
  at: instant('at').notNull(),
  noteId: reference('note_id')
    .notNull()
    .references(() => pieceNotes.id, { onDelete: 'restrict' }),
});
