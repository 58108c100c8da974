import { z } from 'zod';
import type { GatedBucket } from '../../buckets/service/safety-gate.ts';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { type Document, keepDocument } from '../../core/files.ts';
import { choice, count, day, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { judgeFiring } from '../../kilns/service/index.ts';
import { findRecipe } from '../../materials/service/index.ts';
import type { FiredPiece } from '../../ware/service/food-gate.ts';
import { findClay, writtenCone } from '../../ware/service/index.ts';
import { type Food, foodLine, foodOf, foodOfGlaze, type GlazedPiece, type StandingTest } from '../food.ts';
import {
  categoryOf,
  LEACH_RULES,
  LEACH_UNITS,
  LeachError,
  type LeachJudgement,
  type LeachUnit,
  leach,
  METALS,
  WARE_SHAPES,
} from '../leach.ts';
import * as store from '../store/food.ts';

const MOST_SAMPLES = 24;
/** Far beyond what a laboratory would still measure by this method. */
const MOST_MG = 100_000;

export const wareFields = {
  shape: choice(WARE_SHAPES),
  internalDepthMm: quantity(0, 2000, 'mm'),
  volumeMl: quantity(0, 200_000, 'mL'),
  areaDm2: quantity(0.01, 1000).optional(),
};

const samples = () =>
  z
    .array(quantity(0, MOST_MG))
    .min(1, 'At least one sample.')
    .max(MOST_SAMPLES, `At most ${MOST_SAMPLES} samples.`);

/** As laboratories write them; 1 µg/mL is 1 mg/L. */
const WRITTEN_UNITS = { 'mg/l': 'mg/L', 'ug/mL': 'mg/L', 'µg/mL': 'mg/L', 'mg/dm²': 'mg/dm2' } as const;
const isUnit = (written: string): written is LeachUnit => LEACH_UNITS.some((one) => one === written);
const unit = () =>
  choice([...LEACH_UNITS, 'mg/l', 'ug/mL', 'µg/mL', 'mg/dm²']).transform(
    (written): LeachUnit => (isUnit(written) ? written : WRITTEN_UNITS[written]),
  );

const figures = {
  rules: choice(LEACH_RULES),
  unit: unit(),
  lead: samples(),
  cadmium: samples(),
};

/** A laboratory's figures, to be judged and not kept. */
export const leachBody = z.strictObject({ ...figures, ware: z.strictObject(wareFields) });

const about = {
  recipe: count(1, 2 ** 31 - 1),
  version: count(1, 2 ** 31 - 1),
  clay: count(1, 2 ** 31 - 1),
  cone: writtenCone(),
  lab: text(80),
  testedOn: day(),
};

/** A test to be kept: the same with what was tested, by whom and when. */
export const testBody = z.strictObject({ ...leachBody.shape, ...about });
export type TestCommand = z.output<typeof testBody>;

/** The same as a form has it: the ware lies flat. */
export const testForm = z.strictObject({ ...figures, ...wareFields, ...about });

export const fromForm = ({
  shape,
  internalDepthMm,
  volumeMl,
  areaDm2,
  ...rest
}: z.output<typeof testForm>): TestCommand => ({
  ...rest,
  ware: { shape, internalDepthMm, volumeMl, areaDm2 },
});

export const voidForm = z.strictObject({ reason: text(500) });

/** Judges figures by one set of rules. @throws Invalid where their unit is not that of the limit */
export function judgeFigures(read: Read, command: z.output<typeof leachBody>): LeachJudgement {
  mustBeAllowed(read.actor, 'food.see');
  try {
    return leach(command);
  } catch (error) {
    if (error instanceof LeachError) throw new Invalid([{ path: error.path, message: error.message }]);
    throw error;
  }
}

const stored = z.object({
  ware: z.object({
    shape: z.enum(WARE_SHAPES),
    internalDepthMm: z.number(),
    volumeMl: z.number(),
    areaDm2: z.number().optional(),
  }),
  unit: z.enum(LEACH_UNITS),
  lead: z.array(z.number()),
  cadmium: z.array(z.number()),
  deciding: z.object({
    metal: z.enum(METALS),
    sample: z.number().nullable(),
    value: z.number(),
    limit: z.number(),
  }),
  words: z.object({ lead: z.string(), cadmium: z.string() }),
});

/** A test as it is shown. */
export interface LeachTest extends Omit<z.output<typeof stored>, 'words'> {
  number: number;
  recipe: { id: number; name: string; version: number };
  clay: string;
  cone: string;
  rules: (typeof LEACH_RULES)[number];
  category: string;
  passed: boolean;
  /** How each metal was judged. */
  said: { lead: string; cadmium: string };
  lab: string;
  testedOn: string;
  by: string;
  at: Instant;
  /** SHA-256 of the report at /files/. */
  report: string | null;
  /** Why it counts no longer; null while it does. */
  struck: string | null;
}

const NO_CLAY = 'an unknown clay';
const VOIDED = z.object({ reason: z.string() });

function testOf(row: store.LeachTestRow, struck: string | null): LeachTest {
  const { words, ...payload } = stored.parse(row.payload);
  const rules = z.enum(LEACH_RULES).parse(row.rules);
  return {
    ...payload,
    said: words,
    number: row.number,
    recipe: { id: row.recipeId, name: row.recipe, version: row.recipeVersion },
    clay: row.clay ?? NO_CLAY,
    cone: row.cone,
    rules,
    category: categoryOf(rules, payload.ware).words,
    passed: row.passed,
    lab: row.lab,
    testedOn: row.testedOn,
    by: row.byName,
    at: row.at,
    report: row.sha256,
    struck,
  };
}

async function shown(read: Read, row: store.LeachTestRow): Promise<LeachTest> {
  if (row.voidedBy === null) return testOf(row, null);
  const strike = await store.findRow(read.tx, row.voidedBy);
  return testOf(row, VOIDED.parse(strike?.payload).reason);
}

/** Tests, struck out ones too, the newest first; `next` asks for those before. */
export async function listTests(
  read: Read,
  { limit, before }: { limit: number; before?: number | undefined },
): Promise<{ tests: LeachTest[]; next: number | null }> {
  mustBeAllowed(read.actor, 'food.see');
  const rows = await store.listTests(read.tx, { limit: limit + 1, before });
  const tests = await Promise.all(rows.slice(0, limit).map((row) => shown(read, row)));
  return { tests, next: rows.length > limit ? (tests.at(-1)?.number ?? null) : null };
}

/** One test, a struck out one too. @throws NotFound */
export async function findTest(read: Read, number: number): Promise<LeachTest> {
  mustBeAllowed(read.actor, 'food.see');
  const row = await store.findRow(read.tx, number);
  if (!row || row.voids !== null) throw new NotFound('There is no test with this number.');
  return shown(read, row);
}

/**
 * Keeps a laboratory's figures for a glaze on a clay at a cone, judged by the rules that were chosen.
 * @returns its number
 * @throws Invalid for a recipe, clay or date that is none, and for too few samples with nothing over its limit
 */
export async function recordTest(act: Act, command: TestCommand, report: Document | null): Promise<number> {
  mustBeAllowed(act.actor, 'food.record');
  const { recipe, version, clay, cone, lab, testedOn, ware, unit, lead, cadmium, rules } = command;
  await mustBeThere(findRecipe(act, recipe, version), 'version', 'This recipe has no such version.');
  await mustBeThere(findClay(act, clay), 'clay', 'Choose a clay from the list.');
  if (testedOn > (await studioDay(act)))
    throw new Invalid([{ path: 'testedOn', message: 'This day is still to come.' }]);
  const judged = judgeFigures(act, { rules, ware, unit, lead, cadmium });
  if (judged.pass && !judged.complete)
    throw new Invalid([
      { path: lead.length < judged.category.samples ? 'lead' : 'cadmium', message: judged.words },
    ]);
  const { metal, sample, value, limit } = judged.deciding;
  const payload: z.input<typeof stored> = {
    ware,
    unit,
    lead,
    cadmium,
    deciding: { metal, sample, value, limit },
    words: { lead: judged.lead.words, cadmium: judged.cadmium.words },
  };
  return store.insertRow(act.tx, {
    recipeId: recipe,
    recipeVersion: version,
    clayId: clay,
    cone,
    rules,
    category: judged.category.key,
    passed: judged.pass,
    lab,
    testedOn,
    payload,
    v: 1,
    fileId: report ? await keepDocument(act, report) : null,
    by: act.actor.id,
    at: act.now,
  });
}

async function mustBeThere(found: Promise<unknown>, path: string, message: string): Promise<void> {
  try {
    await found;
  } catch (error) {
    throw error instanceof NotFound ? new Invalid([{ path, message }]) : error;
  }
}

/** Strikes a test out: it stays, and counts no longer. @throws NotFound, Conflict where it is struck out already */
export async function voidTest(act: Act, number: number, reason: string): Promise<void> {
  mustBeAllowed(act.actor, 'food.record');
  const row = await store.findRow(act.tx, number);
  if (!row || row.voids !== null) throw new NotFound('There is no test with this number.');
  const already = new Conflict('This test is struck out already.');
  if (row.voidedBy !== null) throw already;
  const { recipeId, recipeVersion, clayId, cone, rules, category, lab, testedOn } = row;
  const strike = store.insertRow(act.tx, {
    ...{ recipeId, recipeVersion, clayId, cone, rules, category, lab, testedOn },
    passed: false,
    payload: { reason } satisfies z.input<typeof VOIDED>,
    v: 1,
    voids: number,
    by: act.actor.id,
    at: act.now,
  });
  await unlessTaken(strike, already);
  await record(act, 'leach-test.void', `leach-test:${number}`);
}

const standing = (row: store.LeachTestRow): StandingTest => ({ ...row, clay: row.clay ?? NO_CLAY });

/** Whether ware from a bucket may touch food; null while nobody knows what is in it. */
export async function foodOfBucket(read: Read, { recipe }: GatedBucket): Promise<Food | null> {
  mustBeAllowed(read.actor, 'food.see');
  if (!recipe) return null;
  const tests = await store.standingTests(read.tx, recipe.id);
  return foodOfGlaze(tests.map(standing), { recipeId: recipe.id, recipeVersion: recipe.version });
}

/** The same by the bucket's code, asked while the bucket itself is still on its way. */
export async function foodAtCode(
  read: Read,
  code: string,
  bucket: Promise<GatedBucket>,
): Promise<Food | null> {
  mustBeAllowed(read.actor, 'food.see');
  const [tests, { recipe }] = await Promise.all([store.standingTestsAt(read.tx, code), bucket]);
  if (!recipe) return null;
  return foodOfGlaze(tests.map(standing), { recipeId: recipe.id, recipeVersion: recipe.version });
}

/** Whether a piece may touch food, in a line; nothing of one without glaze. */
export async function foodOfPiece(read: Read, piece: FiredPiece): Promise<string> {
  mustBeAllowed(read.actor, 'food.see');
  const { glazes, clayId, loads, crazed } = piece;
  if (glazes.length === 0) return '';
  const [only] = glazes;
  const tests = only && glazes.length === 1 ? await store.standingTests(read.tx, only.recipeId) : [];
  // What the kiln did matters only where there is a test that it could undo.
  const firings = tests.length === 0 ? [] : await Promise.all(loads.map((load) => firedAs(read, load)));
  return foodLine(foodOf(tests.map(standing), { coats: glazes, clayId, firings, isCrazed: crazed }));
}

async function firedAs(read: Read, number: number): Promise<GlazedPiece['firings'][number]> {
  const { load, judgement } = await judgeFiring(read, number);
  const reached = judgement.by === 'nothing' ? 'unknown' : judgement.flagged ? 'no' : 'yes';
  return { cone: load.firing.cone, reached };
}
