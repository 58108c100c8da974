import { and, asc, desc, eq, inArray, isNull, or, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import type { MaterialFacts } from '../facts.ts';
import { materialSheets, materials, materialVersions, recipeLines, recipes } from '../schema.ts';

export interface MaterialRow {
  id: number;
  name: string;
  density: number;
  version: number;
  retiredAt: Instant | null;
  facts: MaterialFacts | null;
}

const columns = {
  id: materials.id,
  name: materials.name,
  density: materials.densityGCm3,
  version: materials.latestVersion,
  retiredAt: materials.retiredAt,
  facts: materialVersions.facts,
};

const latest = and(
  eq(materialVersions.materialId, materials.id),
  eq(materialVersions.version, materials.latestVersion),
);

export async function list(db: Executor): Promise<MaterialRow[]> {
  return db.select(columns).from(materials).leftJoin(materialVersions, latest);
}

export async function find(db: Executor, id: number): Promise<MaterialRow | null> {
  const [row] = await db
    .select(columns)
    .from(materials)
    .leftJoin(materialVersions, latest)
    .where(eq(materials.id, id));
  return row ?? null;
}

const lowered = sql<string>`lower(${materials.name})`;

export async function idsByName(db: Executor, names: string[]): Promise<Map<string, number>> {
  const rows = await db
    .select({ id: materials.id, name: lowered })
    .from(materials)
    .where(
      inArray(
        lowered,
        names.map((name) => name.toLowerCase()),
      ),
    );
  return new Map(rows.map(({ id, name }) => [name, id]));
}

export async function insert(tx: Executor, name: string, density: number): Promise<number> {
  const [row] = await tx
    .insert(materials)
    .values({ name, densityGCm3: density })
    .returning({ id: materials.id });
  return (row as { id: number }).id;
}

/** Those of these names that the register does not have, each with its density. */
export async function insertMissing(tx: Executor, rows: { name: string; density: number }[]): Promise<void> {
  await tx
    .insert(materials)
    .values(rows.map(({ name, density }) => ({ name, densityGCm3: density })))
    .onConflictDoNothing();
}

/** The next version's number, with the material locked against a second writer; null: no such material. */
export async function takeNextVersion(
  tx: Executor,
  id: number,
  name: string,
  density: number,
): Promise<number | null> {
  const [row] = await tx
    .update(materials)
    .set({ name, densityGCm3: density, latestVersion: sql`${materials.latestVersion} + 1` })
    .where(eq(materials.id, id))
    .returning({ version: materials.latestVersion });
  return row?.version ?? null;
}

/** Locks those that nobody has said anything of yet, and gives them their first version's number. */
export async function takeFirstVersion(tx: Executor, ids: number[]): Promise<number[]> {
  const rows = await tx
    .update(materials)
    .set({ latestVersion: 1 })
    .where(and(inArray(materials.id, ids), eq(materials.latestVersion, 0), isNull(materials.retiredAt)))
    .returning({ id: materials.id });
  return rows.map(({ id }) => id);
}

export async function insertVersions(
  tx: Executor,
  rows: (typeof materialVersions.$inferInsert)[],
): Promise<void> {
  if (rows.length > 0) await tx.insert(materialVersions).values(rows);
}

/** Waits for whoever writes about this material; false: there is none. */
export async function lock(tx: Executor, id: number): Promise<boolean> {
  const rows = await tx
    .select({ id: materials.id })
    .from(materials)
    .where(eq(materials.id, id))
    .for('update');
  return rows.length > 0;
}

export async function setRetired(tx: Executor, id: number, at: Instant | null): Promise<void> {
  await tx.update(materials).set({ retiredAt: at }).where(eq(materials.id, id));
}

export async function versions(db: Executor, id: number) {
  return db
    .select({
      version: materialVersions.version,
      facts: materialVersions.facts,
      at: materialVersions.at,
      by: people.name,
    })
    .from(materialVersions)
    .innerJoin(people, eq(people.id, materialVersions.by))
    .where(eq(materialVersions.materialId, id))
    .orderBy(desc(materialVersions.version));
}

const sheetColumns = {
  materialId: materialSheets.materialId,
  number: materialSheets.number,
  kind: materialSheets.kind,
  supplier: materialSheets.supplier,
  issuedOn: materialSheets.issuedOn,
  language: materialSheets.language,
  reviewOn: materialSheets.reviewOn,
  at: materialSheets.at,
  by: people.name,
  file: files.sha256,
};

/** Of one material, or of all; the newest first. Never the files themselves. */
export async function sheets(db: Executor, id?: number) {
  return db
    .select(sheetColumns)
    .from(materialSheets)
    .innerJoin(people, eq(people.id, materialSheets.by))
    .leftJoin(files, eq(files.id, materialSheets.fileId))
    .where(id === undefined ? undefined : eq(materialSheets.materialId, id))
    .orderBy(desc(materialSheets.number));
}

export async function lastSheetNumber(tx: Executor, id: number): Promise<number> {
  const [row] = await tx
    .select({ last: sql<number>`coalesce(max(${materialSheets.number}), 0)::int` })
    .from(materialSheets)
    .where(eq(materialSheets.materialId, id));
  return row?.last ?? 0;
}

export async function insertSheet(tx: Executor, row: typeof materialSheets.$inferInsert): Promise<void> {
  await tx.insert(materialSheets).values(row);
}

/** Recipes that it is in, with the latest version that has it and the latest there is. */
export async function recipesWith(db: Executor, id: number) {
  return db
    .select({
      recipeId: recipes.id,
      name: recipes.name,
      version: sql<number>`max(${recipeLines.version})::int`,
      latest: recipes.latestVersion,
    })
    .from(recipeLines)
    .innerJoin(recipes, eq(recipes.id, recipeLines.recipeId))
    .where(eq(recipeLines.materialId, id))
    .groupBy(recipes.id)
    .orderBy(asc(sql`lower(${recipes.name})`));
}

/** Ids of the materials in any recipe's latest version. */
export async function idsInUse(db: Executor): Promise<Set<number>> {
  const rows = await db
    .selectDistinct({ id: recipeLines.materialId })
    .from(recipeLines)
    .innerJoin(
      recipes,
      and(eq(recipes.id, recipeLines.recipeId), eq(recipes.latestVersion, recipeLines.version)),
    );
  return new Set(rows.map(({ id }) => id));
}

/** The lines of these versions of recipes, each in their order, with what is known of each material now. */
export async function linesOf(db: Executor, asked: readonly { id: number; version: number }[]) {
  if (asked.length === 0) return [];
  return db
    .select({
      recipeId: recipeLines.recipeId,
      recipeVersion: recipeLines.version,
      materialId: materials.id,
      name: materials.name,
      parts: recipeLines.partsByMass,
      densityGCm3: recipeLines.densityGCm3,
      version: materials.latestVersion,
      facts: materialVersions.facts,
    })
    .from(recipeLines)
    .innerJoin(materials, eq(materials.id, recipeLines.materialId))
    .leftJoin(materialVersions, latest)
    .where(
      or(
        ...asked.map(({ id, version }) =>
          and(eq(recipeLines.recipeId, id), eq(recipeLines.version, version)),
        ),
      ),
    )
    .orderBy(asc(recipeLines.position));
}
