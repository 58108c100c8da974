import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type Material, withOrdinary } from '../ordinary.ts';
import { type RecipeLine, solidsDensity } from '../recipe.ts';
import * as store from '../store.ts';

export type { RecipeLine } from '../recipe.ts';
export type { Version } from '../store.ts';

export const recipeLine = z.strictObject({
  material: text(60),
  parts: quantity(0.0001, 1_000_000),
  density: quantity(0.5, 20),
});

/** What a recipe consists of; without lines its particle density is entered. */
export interface RecipeCommand {
  lines: RecipeLine[];
  solidsDensity?: number | undefined;
  hasSolubles: boolean;
}

export interface RecipePage {
  current: store.Version;
  lines: RecipeLine[];
  versions: Awaited<ReturnType<typeof store.versionsOf>>;
}

const HEAVIEST = 8;

export async function createRecipe(act: Act, name: string, command: RecipeCommand): Promise<store.Version> {
  mustBeAllowed(act.actor, 'recipes.edit');
  return writeVersion(act, await insertNamed(act, name), name, command);
}

const insertNamed = ({ tx }: Act, name: string): Promise<number> =>
  unlessTaken(
    store.insertRecipe(tx, name),
    new Conflict('Another recipe has this name. Choose another, or make a new version of that one.', 'name'),
  );

/** A new version; buckets keep the one they have until somebody changes it there. */
export async function reviseRecipe(
  act: Act,
  recipeId: number,
  command: RecipeCommand,
): Promise<store.Version> {
  mustBeAllowed(act.actor, 'recipes.edit');
  const { current } = await findRecipe(act, recipeId);
  return writeVersion(act, recipeId, current.name, command);
}

async function writeVersion(
  act: Act,
  recipeId: number,
  name: string,
  command: RecipeCommand,
): Promise<store.Version> {
  const density = densityOf(command);
  const version = await store.takeNextVersion(act.tx, recipeId);
  if (version === null) throw new NotFound('There is no such recipe.');
  const row = { recipeId, version, solidsDensityGCm3: density, hasSolubles: command.hasSolubles };
  await store.insertVersion(act.tx, { ...row, madeBy: act.actor.id, madeAt: act.now }, command.lines);
  await record(act, 'recipe.version', `recipe:${recipeId}`, { version });
  return { recipeId, version, name, solidsDensity: density, hasSolubles: command.hasSolubles };
}

function densityOf(command: RecipeCommand): number {
  if (command.lines.length === 0 && command.solidsDensity === undefined)
    throw new Invalid([
      { path: 'lines', message: 'List the materials, or give the density of the dry glaze.' },
    ]);
  const density = command.lines.length > 0 ? solidsDensity(command.lines) : (command.solidsDensity as number);
  if (density <= 1 || density > HEAVIEST)
    throw new Invalid([
      { path: 'lines', message: 'The dry glaze must come out heavier than water and lighter than lead.' },
    ]);
  return density;
}

export async function listRecipes(read: Read): Promise<store.Version[]> {
  mustBeAllowed(read.actor, 'recipes.see');
  return store.latestVersions(read.tx);
}

export async function findRecipe(read: Read, recipeId: number, version?: number): Promise<RecipePage> {
  mustBeAllowed(read.actor, 'recipes.see');
  const versions = await store.versionsOf(read.tx, recipeId);
  const current = version === undefined ? versions[0] : versions.find((v) => v.version === version);
  if (!current) throw new NotFound('There is no such recipe.');
  return { current, lines: await store.linesOf(read.tx, recipeId, current.version), versions };
}

/** What a recipe may be made of: the materials of earlier recipes, and the ordinary ones. */
export async function listMaterials(read: Read): Promise<Material[]> {
  mustBeAllowed(read.actor, 'recipes.see');
  return withOrdinary(await store.knownMaterials(read.tx));
}
