import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { lastRecord, record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Doubtful, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { choice, code, count, flag, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import {
  findRecipe,
  type LotNow,
  lotsOf,
  type RecipePage,
  undoForBatch,
  useForBatch,
} from '../../materials/service/index.ts';
import {
  ABANDONED,
  type AbandonReason,
  type BatchPlan,
  type BatchStage,
  batchesAfter,
  planBatch,
  stageOf,
} from '../batch.ts';
import { fromStored } from '../events.ts';
import { type Entry, KINDS, type Situation } from '../kinds.ts';
import * as store from '../store/batches.ts';
import { type BucketNow, findBucket } from './now.ts';
import { type Recorded, recordEntries } from './record.ts';

export const batchForm = z.strictObject({
  recipe: count(1, 2 ** 31 - 1).optional(),
  bucket: code().optional(),
  litres: quantity(0, 1000, 'L'),
  aim: quantity(0, 4).optional(),
});

const position = () => count(0, 1000);

export const weighedForm = z.strictObject({
  position: position(),
  lot: text(40).optional(),
  /** Weighed, although the ledger says that less is left of the lot. */
  confirm: flag().optional(),
});
export const takenBackForm = z.strictObject({ position: position() });

const note = text(500).optional();

export const pourForm = z.discriminatedUnion('how', [
  z.strictObject({
    how: z.literal('setup'),
    bucket: code(),
    waterLitres: quantity(0.01, 1000, 'L'),
    note,
    confirm: flag().optional(),
  }),
  z.strictObject({
    how: z.literal('blend'),
    bucket: code(),
    litres: quantity(0.01, 1000, 'L'),
    specificGravity: quantity(1, 4),
    note,
    confirm: flag().optional(),
  }),
]);

export const abandonForm = z.strictObject({
  reason: choice(Object.keys(ABANDONED) as [AbandonReason, ...AbandonReason[]]),
});

export interface Batch extends store.BatchRow {
  stage: BatchStage;
}

/** Where a batch went, and what that bucket has seen since. */
export interface BatchUse {
  code: string;
  name: string;
  colour: string;
  number: number;
  happenedAt: Instant;
  by: string;
  entry: Entry;
  isVoided: boolean;
  /** Events of the bucket after this one. */
  later: number;
  /** The number of the set-up that took its place since. */
  replacedBy: number | null;
}

export interface BatchPage {
  batch: Batch;
  lines: store.LineRow[];
  /** The lots of each material of it that were delivered, by the material's id. */
  lots: Map<number, LotNow[]>;
  uses: BatchUse[];
  abandoned: { by: string; reason: AbandonReason } | null;
}

const NO_BATCH = 'There is no batch with this number.';
const subject = (number: number) => `batch:${number}`;
const withStage = (row: store.BatchRow): Batch => ({ ...row, stage: stageOf(row) });

/** Plans a batch of a recipe, or of what a bucket holds: the sheet that is weighed by. Answers with its number. */
export async function planNewBatch(act: Act, command: z.output<typeof batchForm>): Promise<number> {
  mustBeAllowed(act.actor, 'batches.edit');
  const bucket = command.bucket === undefined ? null : await chosenBucket(act, command.bucket);
  const { current, lines } = await recipeFor(act, command.recipe, bucket);
  const aim = command.aim ?? bucket?.target.aim;
  if (aim === undefined) throw refuse('aim', 'Say what gravity it is wanted at, or for which bucket.');
  if (lines.length === 0)
    throw refuse('recipe', 'The materials of this recipe are not known here: there is nothing to weigh.');
  const plan = planned({ lines, litres: command.litres, aim }, current.solidsDensity);
  const number = await store.insert(
    act.tx,
    {
      recipeId: current.recipeId,
      recipeVersion: current.version,
      litres: command.litres,
      aimSg: aim,
      dryKg: plan.dryKg,
      waterL: plan.waterLitres,
      heldBackL: plan.heldBackLitres,
      forBucketId: bucket?.id ?? null,
      madeBy: act.actor.id,
      madeAt: act.now,
    },
    plan.grams,
  );
  await record(act, 'batch.plan', subject(number), { recipe: current.recipeId, version: current.version });
  return number;
}

function planned(i: Parameters<typeof planBatch>[0], solidsDensity: number): BatchPlan {
  try {
    return planBatch(i);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw refuse(i.litres > 0 && (i.aim <= 1 || i.aim >= solidsDensity) ? 'aim' : 'litres', error.message);
  }
}

/** The recipe that was chosen, in the version the bucket has where it is the same; else the bucket's own. */
async function recipeFor(
  read: Read,
  recipeId: number | undefined,
  bucket: BucketNow | null,
): Promise<RecipePage> {
  const own = bucket?.facts.recipe ?? null;
  const id = recipeId ?? own?.id;
  if (id === undefined) throw refuse('recipe', 'Choose a recipe, or the bucket it is for.');
  if (own && own.id !== id && !bucket?.isReclaim)
    throw refuse('recipe', `${bucket?.name} holds ${bucket?.recipeName}, which is another recipe.`);
  try {
    return await findRecipe(read, id, own?.id === id ? own.version : undefined);
  } catch (error) {
    throw error instanceof NotFound ? refuse('recipe', 'Choose a recipe from the list.') : error;
  }
}

async function chosenBucket(read: Read, bucketCode: string): Promise<BucketNow> {
  try {
    return await findBucket(read, bucketCode);
  } catch (error) {
    throw error instanceof NotFound ? refuse('bucket', 'Choose a bucket from the list.') : error;
  }
}

const refuse = (path: string, message: string) => new Invalid([{ path, message }]);

export async function listBatches(
  read: Read,
  page: { limit: number; before: number | null },
): Promise<{ batches: Batch[]; next: number | null }> {
  mustBeAllowed(read.actor, 'batches.edit');
  const rows = await store.list(read.tx, page.limit + 1, page.before ?? 2 ** 31 - 1);
  const batches = rows.slice(0, page.limit).map(withStage);
  return { batches, next: rows.length > page.limit ? (batches.at(-1)?.number ?? null) : null };
}

export async function showBatch(read: Read, number: number): Promise<BatchPage> {
  mustBeAllowed(read.actor, 'batches.edit');
  const { tx } = read;
  const row = found(await store.find(tx, number));
  const [lines, uses, given] = await Promise.all([
    store.linesOf(tx, row.id),
    store.usesOf(tx, [number]),
    row.abandonedAt === null ? null : lastRecord(tx, 'batch.abandon', subject(number)),
  ]);
  return {
    batch: withStage(row),
    lines,
    lots: await lotsOf(
      read,
      lines.map(({ materialId }) => materialId),
    ),
    uses: await Promise.all(uses.map((use) => followed(read, use))),
    abandoned: given && { by: given.by ?? '', reason: given.details.reason as AbandonReason },
  };
}

/** A use with what its bucket has seen since. */
async function followed({ tx }: Read, use: store.BatchUseRow): Promise<BatchUse> {
  const { bucketId, payload, voidedBy, batch: _batch, isRetired: _isRetired, ...shown } = use;
  const [later, marks] = await Promise.all([
    store.eventsSince(tx, bucketId, use),
    store.marksOf(tx, bucketId),
  ]);
  const setUps = marks
    .filter(({ kind, happenedAt, number }) => kind === 'setup' && isAfter({ happenedAt, number }, use))
    .sort((a, b) => (isAfter(a, b) ? 1 : -1));
  const { number: _, happenedAt: __, ...entry } = fromStored({ ...use, v: 1, payload });
  return { ...shown, entry, isVoided: voidedBy !== null, later, replacedBy: setUps[0]?.number ?? null };
}

interface Placed {
  happenedAt: Instant;
  number: number;
}
const isAfter = (a: Placed, b: Placed): boolean =>
  a.happenedAt > b.happenedAt || (a.happenedAt === b.happenedAt && a.number > b.number);

/** Which batches were in a bucket after each of these events: so a mis-weighed one is found from any of them. */
export async function batchesBehind(
  read: Read,
  bucket: Pick<BucketNow, 'id'>,
  events: Placed[],
): Promise<{ batch: number; happenedAt: Instant }[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  const marks = await store.marksOf(read.tx, bucket.id);
  const all = new Map(
    events.flatMap((event) => batchesAfter(marks, event)).map((mark) => [mark.number, mark]),
  );
  return [...all.values()].sort((a, b) => (isAfter(a, b) ? 1 : -1));
}

/** Ticks a line: this person weighed it, from this lot, of whose stock it is written off where the lot is known. */
export async function weighLine(
  act: Act,
  number: number,
  { position: at, lot = '', confirm }: z.output<typeof weighedForm>,
): Promise<void> {
  const batch = await lockOpen(act, number);
  const line = await lineAt(act, batch, at);
  const by = { lot, weighedBy: act.actor.id, weighedAt: act.now };
  if (!(await store.tick(act.tx, batch.id, at, by)))
    throw new Conflict(`${line.weighedBy} has ticked ${line.material} already.`);
  await useForBatch(act, { ...weighedOf(batch, line, lot), confirm: confirm ?? false });
}

const weighedOf = ({ number }: Batch, { materialId, grams }: store.LineRow, lot: string) => ({
  materialId,
  lot,
  grams,
  batch: number,
});

/** Takes a wrong tick back, by whoever sees it; the line is weighed anew. */
export async function takeBack(act: Act, number: number, at: number): Promise<void> {
  const batch = await lockOpen(act, number);
  const line = await lineAt(act, batch, at);
  if (line.weighedAt === null) throw new Conflict(`${line.material} is not ticked.`);
  await store.untick(act.tx, batch.id, at);
  await undoForBatch(act, weighedOf(batch, line, line.lot));
  await record(act, 'batch.take-back', subject(number), { line: at, weighedBy: line.weighedById });
}

/** A second person saw every line: whoever weighed any of them cannot. */
export async function countersign(act: Act, number: number): Promise<void> {
  const batch = await lockOpen(act, number);
  const lines = await store.linesOf(act.tx, batch.id);
  if (lines.some(({ weighedById }) => weighedById === act.actor.id))
    throw new Forbidden('You weighed a line of this batch: somebody else must countersign it.');
  const missing = lines.find(({ weighedAt }) => weighedAt === null);
  if (missing) throw new Conflict(`${missing.material} is still to be weighed.`);
  await store.update(act.tx, batch.id, { checkedBy: act.actor.id, checkedAt: act.now });
  await record(act, 'batch.countersign', subject(number));
}

/**
 * Pours a countersigned batch into a bucket, which it sets up anew or is blended into, and puts the bucket on test
 * until a fired tile is accepted: all in one transaction. A batch is used once; when that is struck out at the
 * bucket, it may be used again.
 */
export async function pourBatch(
  act: Act,
  number: number,
  body: z.output<typeof pourForm>,
): Promise<Recorded & { use: number }> {
  mustBeAllowed(act.actor, 'batches.edit');
  const batch = await lockBatch(act, number);
  if (batch.stage === 'used') throw new Conflict('This batch is in a bucket already.');
  if (batch.stage === 'abandoned') throw new Conflict('This batch was abandoned.');
  if (batch.stage !== 'checked') throw new Conflict('A second person must countersign this batch first.');
  if (!body.confirm) await mustHoldNothingRecalled(act, batch);
  const make = (bucket: Parameters<Parameters<typeof recordEntries>[2]>[0]): Entry[] => {
    mustTake(batch, bucket, bucket.row.bucket.name, body.how);
    const onTest: Entry = { kind: 'service', state: 'on-test', cause: `batch-${number}` };
    return [...entriesOf(batch, bucket, body), onTest];
  };
  const recorded = await recordEntries(act, body.bucket, make, body.note ?? null).catch((error) => {
    throw error instanceof NotFound ? refuse('bucket', 'Choose a bucket from the list.') : error;
  });
  await store.update(act.tx, batch.id, { usedAt: act.now });
  await record(act, 'batch.use', subject(number), { bucket: recorded.bucket.code });
  return { ...recorded, use: recorded.event.number - 1 };
}

/** @throws Doubtful where something of it was weighed from a lot that was recalled since */
async function mustHoldNothingRecalled(act: Act, batch: Batch): Promise<void> {
  const lines = await store.linesOf(act.tx, batch.id);
  const lots = await lotsOf(
    act,
    lines.map(({ materialId }) => materialId),
  );
  const recalled = lines.filter((line) =>
    lots
      .get(line.materialId)
      ?.some((one) => one.recalledAt !== null && one.lot.toLowerCase() === line.lot.toLowerCase()),
  );
  if (recalled.length === 0) return;
  const names = recalled.map(({ material, lot }) => `${material} from lot ${lot}`).join(', ');
  throw new Doubtful('bucket', `It holds ${names}, recalled since. Is it poured all the same?`);
}

function mustTake(batch: Batch, bucket: Situation, name: string, how: 'setup' | 'blend'): void {
  const { service, recipe } = bucket.facts;
  if (service === 'retired') throw refuse('bucket', `${name} is retired.`);
  if (service === 'do-not-use' && how === 'blend')
    throw refuse('bucket', `${name} is marked “Do not use”: put that right first.`);
  if (!bucket.isReclaim && recipe?.id !== batch.recipeId)
    throw refuse('bucket', `${name} holds another recipe: this batch is ${batch.recipeName}.`);
}

/** A bucket set up with another version of the recipe holds that version from then on. */
function entriesOf(batch: Batch, bucket: Situation, body: z.output<typeof pourForm>): Entry[] {
  if (body.how === 'blend') {
    const { litres, specificGravity } = body;
    const blended = KINDS['top-ups'].entries({ kind: 'slurry', litres, specificGravity }, bucket);
    return blended.map((entry) => ({ ...entry, batch: batch.number }) as Entry);
  }
  const { recipeId, recipeVersion: version, solidsDensity, hasSolubles } = batch;
  const { recipe } = bucket.facts;
  const isNewer = recipe?.id === recipeId && recipe.version !== version;
  const facts = isNewer ? { ...bucket.facts, solidsDensity } : bucket.facts;
  const poured = { dryKg: batch.dryKg, waterLitres: body.waterLitres };
  const setUp = KINDS.setup.entries(poured, { ...bucket, facts });
  return [
    ...(isNewer ? [{ kind: 'recipe', recipeId, version, solidsDensity, hasSolubles } satisfies Entry] : []),
    ...setUp.map((entry) => ({ ...entry, batch: batch.number }) as Entry),
  ];
}

/** Nothing comes of it; it stays on the list, with the reason. What was weighed is used up all the same. */
export async function abandonBatch(act: Act, number: number, reason: AbandonReason): Promise<void> {
  mustBeAllowed(act.actor, 'batches.edit');
  const batch = await lockBatch(act, number);
  if (batch.stage === 'used') throw new Conflict('This batch is in a bucket already.');
  if (batch.stage === 'abandoned') throw new Conflict('This batch was abandoned already.');
  await store.update(act.tx, batch.id, { abandonedAt: act.now });
  await record(act, 'batch.abandon', subject(number), { reason });
}

async function lockBatch(act: Act, number: number): Promise<Batch> {
  return withStage(found(await store.lock(act.tx, number)));
}

/** A batch whose lines may still be ticked. */
async function lockOpen(act: Act, number: number): Promise<Batch> {
  mustBeAllowed(act.actor, 'batches.edit');
  const batch = await lockBatch(act, number);
  if (batch.stage === 'abandoned') throw new Conflict('This batch was abandoned.');
  if (batch.checkedAt !== null)
    throw new Conflict(`${batch.checkedBy} has countersigned this batch: its lines stay as they are.`);
  return batch;
}

async function lineAt({ tx }: Act, batch: Batch, at: number): Promise<store.LineRow> {
  const line = (await store.linesOf(tx, batch.id)).find(({ position }) => position === at);
  if (!line) throw new NotFound('This batch has no such line.');
  return line;
}

function found(row: store.BatchRow | null): store.BatchRow {
  if (!row) throw new NotFound(NO_BATCH);
  return row;
}
