import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice, code, colour, count, flag, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { createRecipe, findRecipe, recipeLine, type Version } from '../../materials/service/index.ts';
import { emptyFacts } from '../ledger.ts';
import * as store from '../store.ts';
import { litresAtDepth } from '../vessel.ts';
import { type BucketNow, bucketNow, factsOf, lockRow } from './now.ts';
import { changeRecipe, refold } from './record.ts';

const CONES = 'A pyrometric cone, such as 04 or 6.';
export const cone = () =>
  z
    .string({ error: CONES })
    .trim()
    .regex(/^(0(0?[1-9]|1\d|2[0-2])½?|[1-9]½?|1[0-4]½?)$/, CONES);

const gravity = () => quantity(1, 4);
const seconds = () => quantity(0.5, 600, 's');

/** Addresses of pages that stand beside those of the buckets. */
const TAKEN_CODES = ['new', 'retired'];

/** What a bucket is, apart from its recipe and what happens to it. */
export const bucketFields = {
  code: code().refine((c) => !TAKEN_CODES.includes(c.toLowerCase()), 'Choose another code.'),
  name: text(60),
  colour: colour().default('#8a8f98'),
  place: text(60).optional(),
  capacityLitres: quantity(0.1, 1000, 'L'),
  bottomMm: quantity(20, 3000, 'mm').optional(),
  topMm: quantity(20, 3000, 'mm').optional(),
  heightMm: quantity(20, 3000, 'mm').optional(),
  coneFrom: cone().optional(),
  coneTo: cone().optional(),
  atmosphere: choice(['oxidation', 'reduction', 'either']).optional(),
  stirIntervalMinutes: quantity(1, 1440, 'min').default(5),
  readingTrustedHours: quantity(1, 8760, 'h').default(168),
  sieveMesh: count(10, 500).default(80),
  careNotes: text(1000).optional(),
  rinseBucket: text(60).optional(),
  isReclaim: flag().optional(),
  mixMoreFraction: quantity(0, 1).default(1 / 3),
};

/** The same as typed into a form: the band lies flat, the recipe is chosen. */
export const bucketForm = z.strictObject({
  ...bucketFields,
  low: gravity().optional(),
  aim: gravity(),
  high: gravity().optional(),
  flowLow: seconds().optional(),
  flowHigh: seconds().optional(),
  /** Left out, a bucket that exists keeps the version it has. */
  recipe: count(1, 2 ** 31 - 1).optional(),
});

export const bucketBody = z.strictObject({
  ...bucketFields,
  target: z.strictObject({ low: gravity().optional(), aim: gravity(), high: gravity().optional() }),
  /** Seconds through the studio's flow cup. */
  flow: z.strictObject({ low: seconds(), high: seconds() }).optional(),
  solidsDensity: quantity(1.01, 8).optional(),
  recipe: z.array(recipeLine).min(1, 'At least one material.').max(40, 'At most 40 materials.').optional(),
  hasSolubles: flag().default(false),
});

type Fields = z.output<z.ZodObject<typeof bucketFields>>;
export interface BucketCommand extends Fields {
  target: { low?: number | undefined; aim: number; high?: number | undefined };
  flow?: { low?: number | undefined; high?: number | undefined } | undefined;
}

const BAND = 0.02;

/** A new bucket of a recipe that exists, in its latest version. */
export async function createBucket(
  act: Act,
  command: BucketCommand,
  recipeId: number | undefined,
): Promise<BucketNow> {
  mustBeAllowed(act.actor, 'buckets.edit');
  return insert(act, command, await chosenRecipe(act, recipeId));
}

/** A new bucket whose recipe comes with it and is kept under the bucket's name. */
export async function createBucketWithRecipe(
  act: Act,
  body: z.output<typeof bucketBody>,
): Promise<BucketNow> {
  mustBeAllowed(act.actor, 'buckets.edit');
  if ((body.recipe === undefined) === (body.solidsDensity === undefined))
    throw new Invalid([{ path: 'recipe', message: 'Give either a recipe or solidsDensity.' }]);
  const lines = body.recipe ?? [];
  const command = { lines, solidsDensity: body.solidsDensity, hasSolubles: body.hasSolubles };
  const name = `${body.name} (${body.code})`;
  return insert(act, body, await createRecipe(act, name, command));
}

async function insert(act: Act, command: BucketCommand, recipe: Version): Promise<BucketNow> {
  const { tx, actor, now } = act;
  const row = {
    ...columns(command, recipe.solidsDensity),
    firstRecipeId: recipe.recipeId,
    firstRecipeVersion: recipe.version,
    madeAt: now,
  };
  const start = { id: recipe.recipeId, version: recipe.version };
  await taken('code', store.insertBucket(tx, row, emptyFacts({ ...recipe, recipe: start })));
  await record(act, 'bucket.create', `bucket:${command.code}`);
  const made = (await store.find(tx, command.code)) as store.BucketRow;
  return bucketNow(made, factsOf(made.state), actor.role, now);
}

/**
 * Changes what a bucket is; another recipe, or the latest version of the one it has, is an event of its own.
 * Without a recipe the bucket keeps the version it has.
 */
export async function editBucket(
  act: Act,
  code: string,
  command: BucketCommand,
  recipeId: number | undefined,
): Promise<string> {
  mustBeAllowed(act.actor, 'buckets.edit');
  const row = await lockRow(act, code);
  const { bucket, state } = row;
  const recipe = recipeId === undefined ? null : await chosenRecipe(act, recipeId);
  const changes = columns(command, recipe?.solidsDensity ?? state.solidsDensity);
  await taken('code', store.updateBucket(act.tx, bucket.id, changes));
  if (changes.capacityL !== bucket.capacityL)
    await store.saveState(
      act.tx,
      bucket.id,
      await refold(act.tx, { ...row, bucket: { ...bucket, ...changes } }),
    );
  await record(act, 'bucket.edit', `bucket:${bucket.code}`, {
    code: command.code,
    ...changed(bucket, changes),
  });
  if (recipe && (state.recipe?.id !== recipe.recipeId || state.recipe.version !== recipe.version))
    await changeRecipe(act, command.code, recipe);
  return command.code;
}

/** The figures that were changed, each as 'before → after': they decide what a bucket is called. */
function changed(before: Record<string, unknown>, after: Record<string, unknown>): Record<string, string> {
  const figures = Object.entries(after).filter(
    ([name, value]) => typeof value === 'number' && value !== before[name],
  );
  return Object.fromEntries(figures.map(([name, value]) => [name, `${before[name]} → ${value}`]));
}

async function chosenRecipe(read: Read, recipeId: number | undefined): Promise<Version> {
  const nothing = new Invalid([{ path: 'recipe', message: 'Choose a recipe from the list.' }]);
  if (recipeId === undefined) throw nothing;
  try {
    return (await findRecipe(read, recipeId)).current;
  } catch (error) {
    throw error instanceof NotFound ? nothing : error;
  }
}

/** Turns "that code, or that name, is in use" into words beside the field. */
const taken = <T>(path: string, work: Promise<T>): Promise<T> =>
  unlessTaken(
    work,
    new Conflict(`Another one has this ${path}, perhaps a retired one. Choose another.`, path),
  );

function columns(command: BucketCommand, solidsDensity: number) {
  const { aim, low = aim - BAND, high = aim + BAND } = command.target;
  const refuse = (path: string, message: string) => new Invalid([{ path, message }]);
  if (!(low < aim && aim < high)) throw refuse('aim', 'The aim must lie between low and high.');
  if (high >= solidsDensity)
    throw refuse(
      'high',
      `The dry glaze itself has a density of ${solidsDensity.toFixed(2)}: the band must lie below.`,
    );
  const { low: flowLow, high: flowHigh } = command.flow ?? {};
  if ((flowLow === undefined) !== (flowHigh === undefined))
    throw refuse(flowLow === undefined ? 'flowLow' : 'flowHigh', 'Give both limits of the flow, or neither.');
  if (flowLow !== undefined && flowHigh !== undefined && flowLow >= flowHigh)
    throw refuse('flowHigh', 'The slow limit must be more seconds than the fast one.');
  const { bottomMm, topMm, heightMm, capacityLitres } = command;
  const given = [bottomMm, topMm, heightMm].filter((v) => v !== undefined).length;
  if (given !== 0 && given !== 3)
    throw refuse('heightMm', 'Give bottom, top and height together, or none of them.');
  if (bottomMm !== undefined && topMm !== undefined && heightMm !== undefined) {
    const full = litresAtDepth({ bottomMm, topMm, heightMm }, heightMm);
    if (capacityLitres > full * 1.02)
      throw refuse('capacityLitres', `A bucket of this shape holds ${full.toFixed(1)} L to the brim.`);
  }
  return {
    code: command.code,
    name: command.name,
    colour: command.colour,
    place: command.place ?? '',
    capacityL: capacityLitres,
    bottomMm: bottomMm ?? null,
    topMm: topMm ?? null,
    heightMm: heightMm ?? null,
    sgLow: low,
    sgAim: aim,
    sgHigh: high,
    coneFrom: command.coneFrom ?? command.coneTo ?? null,
    coneTo: command.coneTo ?? command.coneFrom ?? null,
    atmosphere: command.atmosphere ?? null,
    stirIntervalMin: command.stirIntervalMinutes,
    readingTrustedH: command.readingTrustedHours,
    sieveMesh: command.sieveMesh,
    careNotes: command.careNotes ?? '',
    rinseBucket: command.rinseBucket ?? '',
    flowLowS: flowLow ?? null,
    flowHighS: flowHigh ?? null,
    isReclaim: command.isReclaim ?? false,
    mixMoreFraction: command.mixMoreFraction,
  };
}
