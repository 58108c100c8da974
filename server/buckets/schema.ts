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
import { identity, instant, reference } from '../core/database.ts';
import { devices, files, people, tokens } from '../core/schema.ts';
import { materials, recipeVersions } from '../materials/schema.ts';
import type { BucketEvent, Facts } from './ledger.ts';

export const buckets = pgTable(
  'buckets',
  {
    id: identity(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    colour: text('colour').notNull(),
    place: text('place').notNull(),
    bottomMm: doublePrecision('bottom_mm'),
    topMm: doublePrecision('top_mm'),
    heightMm: doublePrecision('height_mm'),
    capacityL: doublePrecision('capacity_l').notNull(),
    sgLow: doublePrecision('sg_low').notNull(),
    sgAim: doublePrecision('sg_aim').notNull(),
    sgHigh: doublePrecision('sg_high').notNull(),
    coneFrom: text('cone_from'),
    coneTo: text('cone_to'),
    atmosphere: text('atmosphere').$type<'oxidation' | 'reduction' | 'either'>(),
    /** Seconds through the studio's own flow cup; null: flow is not watched here. */
    flowLowS: doublePrecision('flow_low_s'),
    flowHighS: doublePrecision('flow_high_s'),
    /** Mixed leftovers of many glazes: every dip is a surprise. */
    isReclaim: boolean('is_reclaim').notNull().default(false),
    stirIntervalMin: doublePrecision('stir_interval_min').notNull(),
    readingTrustedH: doublePrecision('reading_trusted_h').notNull(),
    sieveMesh: integer('sieve_mesh').notNull(),
    careNotes: text('care_notes').notNull(),
    rinseBucket: text('rinse_bucket').notNull(),
    mixMoreFraction: doublePrecision('mix_more_fraction').notNull(),
    /** The recipe at the start; later ones are events. */
    firstRecipeId: reference('first_recipe_id').notNull(),
    firstRecipeVersion: integer('first_recipe_version').notNull(),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [
    uniqueIndex('buckets_code').on(sql`lower(${t.code})`),
    foreignKey({
      name: 'buckets_first_recipe',
      columns: [t.firstRecipeId, t.firstRecipeVersion],
      foreignColumns: [recipeVersions.recipeId, recipeVersions.version],
    }),
    check('buckets_band', sql`${t.sgLow} < ${t.sgAim} and ${t.sgAim} < ${t.sgHigh}`),
  ],
);

/** What a person wrote about an event; the one part of the ledger that an erasure may blank. */
export const bucketNotes = pgTable('bucket_notes', {
  id: identity(),
  bucketId: reference('bucket_id')
    .notNull()
    .references(() => buckets.id),
  text: text('text').notNull(),
});

/** Append-only: the database refuses to change or remove a row. */
export const bucketEvents = pgTable(
  'bucket_events',
  {
    bucketId: reference('bucket_id')
      .notNull()
      .references(() => buckets.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    kind: text('kind').$type<BucketEvent['kind']>().notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    deviceId: reference('device_id').references(() => devices.id, { onDelete: 'restrict' }),
    voids: integer('voids'),
    noteId: reference('note_id').references(() => bucketNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
    payload: jsonb('payload').notNull(),
    /** Litres of slurry dipped away: for the rate of use. */
    usedL: doublePrecision('used_l'),
  },
  (t) => [
    primaryKey({ columns: [t.bucketId, t.number] }),
    index('bucket_events_by_kind').on(t.bucketId, t.kind, t.happenedAt),
    index('bucket_events_by_time').on(t.happenedAt, t.bucketId, t.number),
    index('bucket_events_of_late').on(t.kind, t.happenedAt),
    uniqueIndex('bucket_events_voided_once').on(t.bucketId, t.voids).where(sql`${t.voids} is not null`),
    foreignKey({
      name: 'bucket_events_voids',
      columns: [t.bucketId, t.voids],
      foreignColumns: [t.bucketId, t.number],
    }),
  ],
);

/** What follows from the ledger so far: facts and their times, one row a bucket, rebuildable. */
export const bucketState = pgTable('bucket_state', {
  bucketId: reference('bucket_id')
    .primaryKey()
    .references(() => buckets.id),
  lastNumber: integer('last_number').notNull(),
  lastHappenedAt: instant('last_happened_at'),
  litres: doublePrecision('litres'),
  litresU: doublePrecision('litres_u').notNull(),
  levelSeenAt: instant('level_seen_at'),
  piecesSinceLevel: integer('pieces_since_level').notNull(),
  solidsKg: doublePrecision('solids_kg'),
  waterKg: doublePrecision('water_kg'),
  gravity: doublePrecision('gravity'),
  gravityU: doublePrecision('gravity_u').notNull(),
  gravityBasis: text('gravity_basis').$type<Facts['gravityBasis']>(),
  gravityAt: instant('gravity_at'),
  solidsDensity: doublePrecision('solids_density').notNull(),
  hasSolubles: boolean('has_solubles').notNull(),
  recipe: jsonb('recipe').$type<Facts['recipe']>(),
  stirredAt: instant('stirred_at'),
  readingAt: instant('reading_at'),
  readingNumber: integer('reading_number'),
  readingGravity: doublePrecision('reading_gravity'),
  shift: doublePrecision('shift').notNull(),
  unknownLitres: doublePrecision('unknown_litres').notNull(),
  unpredictable: boolean('unpredictable').notNull(),
  changedAt: instant('changed_at'),
  recent: jsonb('recent').$type<Facts['recent']>().notNull(),
  service: text('service').$type<Facts['service']>().notNull(),
  serviceCause: text('service_cause'),
  serviceSince: instant('service_since'),
  serviceNumber: integer('service_number'),
  tagHungAt: instant('tag_hung_at'),
  /** The last flow that was seen, in seconds or in a word. */
  flowSeconds: doublePrecision('flow_seconds'),
  flowWord: text('flow_word').$type<Facts['flowWord']>(),
  flowAt: instant('flow_at'),
  /** The number of the newest batch in it. */
  batch: integer('batch'),
  doubts: jsonb('doubts').$type<Facts['doubts']>().notNull(),
});

/** A vessel for a brim-full weighing, calibrated once with water. */
export const cups = pgTable(
  'cups',
  {
    id: identity(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    tareG: doublePrecision('tare_g').notNull(),
    waterG: doublePrecision('water_g').notNull(),
    waterC: doublePrecision('water_c').notNull(),
    resolutionG: doublePrecision('resolution_g').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('cups_code').on(sql`lower(${t.code})`)],
);

/** Scales, hydrometers and flow cups, each with what it adds to the doubt of a reading. */
export const instruments = pgTable(
  'instruments',
  {
    id: identity(),
    kind: text('kind').$type<'scale' | 'hydrometer' | 'flow-cup'>().notNull(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    resolutionG: doublePrecision('resolution_g'),
    scale: text('scale').$type<'sg' | 'twaddell' | 'baume'>(),
    division: doublePrecision('division'),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('instruments_code').on(sql`lower(${t.code})`)],
);

export const floats = pgTable(
  'floats',
  {
    id: identity(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('floats_code').on(sql`lower(${t.code})`)],
);

/** Each calibration stands; the newest counts. 1/SG = intercept + slope × mm. */
export const floatCalibrations = pgTable(
  'float_calibrations',
  {
    id: identity(),
    floatId: reference('float_id')
      .notNull()
      .references(() => floats.id),
    points: jsonb('points').$type<{ millimetres: number; specificGravity: number }[]>().notNull(),
    intercept: doublePrecision('intercept').notNull(),
    slopePerMm: doublePrecision('slope_per_mm').notNull(),
    /** Of 1/SG; null with two points. */
    residual: doublePrecision('residual'),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [index('float_calibrations_float').on(t.floatId, t.madeAt)],
);

/** A weighed batch of a recipe: planned, weighed by one person, checked by another, used once. */
export const batches = pgTable(
  'batches',
  {
    id: identity(),
    number: integer('number').notNull(),
    recipeId: reference('recipe_id').notNull(),
    recipeVersion: integer('recipe_version').notNull(),
    litres: doublePrecision('litres').notNull(),
    aimSg: doublePrecision('aim_sg').notNull(),
    dryKg: doublePrecision('dry_kg').notNull(),
    waterL: doublePrecision('water_l').notNull(),
    heldBackL: doublePrecision('held_back_l').notNull(),
    forBucketId: reference('for_bucket_id').references(() => buckets.id),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
    checkedBy: reference('checked_by').references(() => people.id),
    checkedAt: instant('checked_at'),
    usedAt: instant('used_at'),
    abandonedAt: instant('abandoned_at'),
  },
  (t) => [
    uniqueIndex('batches_number').on(t.number),
    foreignKey({
      name: 'batches_recipe',
      columns: [t.recipeId, t.recipeVersion],
      foreignColumns: [recipeVersions.recipeId, recipeVersions.version],
    }),
  ],
);

export const batchLines = pgTable(
  'batch_lines',
  {
    batchId: reference('batch_id')
      .notNull()
      .references(() => batches.id),
    position: integer('position').notNull(),
    materialId: reference('material_id')
      .notNull()
      .references(() => materials.id),
    grams: doublePrecision('grams').notNull(),
    lot: text('lot').notNull().default(''),
    weighedBy: reference('weighed_by').references(() => people.id),
    weighedAt: instant('weighed_at'),
  },
  (t) => [primaryKey({ columns: [t.batchId, t.position] })],
);

/** A fired tile of a bucket's glaze: what it looks like on a clay, or over another glaze. */
export const firedTiles = pgTable(
  'fired_tiles',
  {
    bucketId: reference('bucket_id')
      .notNull()
      .references(() => buckets.id),
    number: integer('number').notNull(),
    fileId: reference('file_id').references(() => files.id),
    clay: text('clay').notNull(),
    cone: text('cone').notNull(),
    /** Laid over this bucket's glaze. */
    overBucketId: reference('over_bucket_id').references(() => buckets.id),
    noteId: reference('note_id').references(() => bucketNotes.id),
    /** Whether a technician accepted the glaze by it; null: a picture only. */
    accepted: boolean('accepted'),
    batch: integer('batch'),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
    withdrawnAt: instant('withdrawn_at'),
  },
  (t) => [primaryKey({ columns: [t.bucketId, t.number] })],
);
