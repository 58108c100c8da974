import { sql } from 'drizzle-orm';
import {
  bigint,
  boolean,
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
import { files, people, tokens } from '../core/schema.ts';
import type { MaterialFacts } from './facts.ts';

export const materials = pgTable(
  'materials',
  {
    id: identity(),
    name: text('name').notNull(),
    densityGCm3: doublePrecision('density_g_cm3').notNull(),
    /** 0: met in a recipe, and nobody has said more of it yet. */
    latestVersion: integer('latest_version').notNull().default(0),
    /** Stock is asked for below this; null: its stock is not watched. */
    reorderKg: doublePrecision('reorder_kg'),
    /** The number of the last row of its stock ledger. */
    lastStockNumber: integer('last_stock_number').notNull().default(0),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('materials_name').on(sql`lower(${t.name})`)],
);

/** Append-only: what was known of a material from then on, as its supplier's sheet says it. */
export const materialVersions = pgTable(
  'material_versions',
  {
    materialId: reference('material_id')
      .notNull()
      .references(() => materials.id, { onDelete: 'restrict' }),
    version: integer('version').notNull(),
    v: smallint('v').notNull(),
    facts: jsonb('facts').$type<MaterialFacts>().notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.materialId, t.version] })],
);

/** Append-only: safety data sheets as they came, looked through again, or known to be replaced by a newer one. */
export const materialSheets = pgTable(
  'material_sheets',
  {
    materialId: reference('material_id')
      .notNull()
      .references(() => materials.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    kind: text('kind').$type<'sheet' | 'reviewed' | 'newer-exists'>().notNull(),
    fileId: reference('file_id').references(() => files.id, { onDelete: 'restrict' }),
    supplier: text('supplier').notNull(),
    /** Dates as YYYY-MM-DD. */
    issuedOn: text('issued_on'),
    language: text('language').notNull(),
    reviewOn: text('review_on'),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    at: instant('at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.materialId, t.number] })],
);

/** A delivery's lot, and what is left of it: rebuildable from the stock ledger. */
export const materialLots = pgTable(
  'material_lots',
  {
    materialId: reference('material_id')
      .notNull()
      .references(() => materials.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    /** As the supplier prints it. */
    lot: text('lot').notNull(),
    supplier: text('supplier').notNull(),
    expiresOn: text('expires_on'),
    onHandMg: bigint('on_hand_mg', { mode: 'number' }).notNull(),
    recalledAt: instant('recalled_at'),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.materialId, t.number] }),
    uniqueIndex('material_lots_lot').on(t.materialId, sql`lower(${t.lot})`),
  ],
);

/** What a person wrote about a row of the stock ledger. */
export const stockNotes = pgTable('stock_notes', { id: identity(), text: text('text').notNull() });

/** Append-only: what came in, was used, counted and thrown away, in whole milligrams. */
export const stockEvents = pgTable(
  'stock_events',
  {
    materialId: reference('material_id')
      .notNull()
      .references(() => materials.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    lotNumber: integer('lot_number').notNull(),
    kind: text('kind')
      .$type<'delivery' | 'use' | 'count' | 'disposal' | 'recall' | 'recall-lifted' | 'void'>()
      .notNull(),
    /** Delivered, used or thrown away; for a count what was found. */
    mg: bigint('mg', { mode: 'number' }),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    /** The batch it was weighed into. */
    batch: integer('batch'),
    voids: integer('voids'),
    noteId: reference('note_id').references(() => stockNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.materialId, t.number] }),
    index('stock_events_lot').on(t.materialId, t.lotNumber, t.number),
    index('stock_events_batch').on(t.batch),
    uniqueIndex('stock_events_voided_once').on(t.materialId, t.voids).where(sql`${t.voids} is not null`),
    foreignKey({
      name: 'stock_events_of_lot',
      columns: [t.materialId, t.lotNumber],
      foreignColumns: [materialLots.materialId, materialLots.number],
    }).onDelete('restrict'),
  ],
);

export const recipes = pgTable(
  'recipes',
  {
    id: identity(),
    name: text('name').notNull(),
    latestVersion: integer('latest_version').notNull(),
  },
  (t) => [uniqueIndex('recipes_name').on(sql`lower(${t.name})`)],
);

/** Never changed once written: a better recipe is the next version. */
export const recipeVersions = pgTable(
  'recipe_versions',
  {
    recipeId: reference('recipe_id')
      .notNull()
      .references(() => recipes.id),
    version: integer('version').notNull(),
    /** From the lines, or as entered where the ingredients are not known. */
    solidsDensityGCm3: doublePrecision('solids_density_g_cm3').notNull(),
    hasSolubles: boolean('has_solubles').notNull(),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.recipeId, t.version] })],
);

export const recipeLines = pgTable(
  'recipe_lines',
  {
    recipeId: reference('recipe_id').notNull(),
    version: integer('version').notNull(),
    position: integer('position').notNull(),
    materialId: reference('material_id')
      .notNull()
      .references(() => materials.id),
    partsByMass: doublePrecision('parts_by_mass').notNull(),
    densityGCm3: doublePrecision('density_g_cm3').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.recipeId, t.version, t.position] }),
    foreignKey({
      name: 'recipe_lines_version',
      columns: [t.recipeId, t.version],
      foreignColumns: [recipeVersions.recipeId, recipeVersions.version],
    }),
  ],
);
