import { and, asc, desc, eq, sql } from 'drizzle-orm';
import type { Instant } from '../core/clock.ts';
import type { Executor } from '../core/database.ts';
import type { RecipeLine } from './recipe.ts';
import { materials, recipeLines, recipes, recipeVersions } from './schema.ts';

export interface Version {
  recipeId: number;
  version: number;
  name: string;
  solidsDensity: number;
  hasSolubles: boolean;
}

const versionColumns = {
  recipeId: recipeVersions.recipeId,
  version: recipeVersions.version,
  name: recipes.name,
  solidsDensity: recipeVersions.solidsDensityGCm3,
  hasSolubles: recipeVersions.hasSolubles,
};

export async function latestVersions(db: Executor): Promise<Version[]> {
  return db
    .select(versionColumns)
    .from(recipes)
    .innerJoin(
      recipeVersions,
      and(eq(recipeVersions.recipeId, recipes.id), eq(recipeVersions.version, recipes.latestVersion)),
    )
    .orderBy(asc(sql`lower(${recipes.name})`));
}

export async function versionsOf(db: Executor, recipeId: number): Promise<(Version & { madeAt: Instant })[]> {
  return db
    .select({ ...versionColumns, madeAt: recipeVersions.madeAt })
    .from(recipeVersions)
    .innerJoin(recipes, eq(recipes.id, recipeVersions.recipeId))
    .where(eq(recipeVersions.recipeId, recipeId))
    .orderBy(desc(recipeVersions.version));
}

export async function linesOf(db: Executor, recipeId: number, version: number): Promise<RecipeLine[]> {
  return db
    .select({ material: materials.name, parts: recipeLines.partsByMass, density: recipeLines.densityGCm3 })
    .from(recipeLines)
    .innerJoin(materials, eq(materials.id, recipeLines.materialId))
    .where(and(eq(recipeLines.recipeId, recipeId), eq(recipeLines.version, version)))
    .orderBy(asc(recipeLines.position));
}

export async function insertRecipe(tx: Executor, name: string): Promise<number> {
  const [row] = await tx.insert(recipes).values({ name, latestVersion: 0 }).returning({ id: recipes.id });
  return (row as { id: number }).id;
}

/** The next version's number, with the recipe locked against a second writer; null: no such recipe. */
export async function takeNextVersion(tx: Executor, recipeId: number): Promise<number | null> {
  const [row] = await tx
    .update(recipes)
    .set({ latestVersion: sql`${recipes.latestVersion} + 1` })
    .where(eq(recipes.id, recipeId))
    .returning({ version: recipes.latestVersion });
  return row?.version ?? null;
}

export async function insertVersion(
  tx: Executor,
  version: typeof recipeVersions.$inferInsert,
  lines: RecipeLine[],
): Promise<void> {
  await tx.insert(recipeVersions).values(version);
  if (lines.length === 0) return;
  const ids = await materialIds(tx, lines);
  await tx.insert(recipeLines).values(
    lines.map((line, position) => ({
      recipeId: version.recipeId,
      version: version.version,
      position,
      materialId: ids.get(line.material) as number,
      partsByMass: line.parts,
      densityGCm3: line.density,
    })),
  );
}

/** Ids by name as the lines have it; a material met for the first time is added with the density given here. */
async function materialIds(tx: Executor, lines: RecipeLine[]): Promise<Map<string, number>> {
  const wanted = new Map(lines.map((line) => [line.material, line]));
  await tx
    .insert(materials)
    .values([...wanted.values()].map((line) => ({ name: line.material, densityGCm3: line.density })))
    .onConflictDoNothing();
  // Postgres alone makes the letters small: JavaScript does not do it alike for every alphabet.
  const names = sql.join(
    [...wanted.keys()].map((name) => sql`(${name}::text)`),
    sql`, `,
  );
  const rows = await tx
    .select({ id: materials.id, name: sql<string>`wanted.name` })
    .from(materials)
    .innerJoin(sql`(values ${names}) as wanted (name)`, sql`lower(${materials.name}) = lower(wanted.name)`);
  return new Map(rows.map((row) => [row.name, row.id]));
}

export async function knownMaterials(
  db: Executor,
): Promise<{ name: string; density: number; isRetired: boolean }[]> {
  return db
    .select({
      name: materials.name,
      density: materials.densityGCm3,
      isRetired: sql<boolean>`${materials.retiredAt} is not null`,
    })
    .from(materials)
    .orderBy(asc(sql`lower(${materials.name})`));
}
