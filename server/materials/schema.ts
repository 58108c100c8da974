import { sql } from 'drizzle-orm';
import {
  boolean,
  doublePrecision,
  foreignKey,
  integer,
  pgTable,
  primaryKey,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core';
import { identity, instant, reference } from '../core/database.ts';
import { people } from '../core/schema.ts';

export const materials = pgTable(
  'materials',
  {
    id: identity(),
    name: text('name').notNull(),
    densityGCm3: doublePrecision('density_g_cm3').notNull(),
  },
  (t) => [uniqueIndex('materials_name').on(sql`lower(${t.name})`)],
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
