import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Doubtful, type FieldError, Invalid, NotFound } from '../../core/errors.ts';
import { count, flag, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import {
  type AbsorptionTest,
  absorptionTest,
  bisqueAgainst,
  type Specimen,
  sampleSpread,
  twoMinuteSoakShare,
  wrongWith,
} from '../absorption.ts';
import { bisqueWarning, oddAbout, type SoakedSpecimen, wrongWithSoaked } from '../bisque.ts';
import * as store from '../store/bisque-tests.ts';
import { type Clay, findClay } from './clays.ts';
import { keepNote } from './ledger.ts';

const PAGE = 50;
const MOST_SPECIMENS = 20;
const LARGEST = 2 ** 31 - 1;
const grams = () => quantity(0.01, 5000, 'g');

export const boiledSpecimen = z.strictObject({
  dryGrams: grams(),
  saturatedGrams: grams(),
  suspendedGrams: quantity(0, 5000, 'g'),
});
export const soakedSpecimen = z.strictObject({ dryGrams: grams(), soakedGrams: grams() });

/** What is asked of a test beside its masses. */
export const aboutTest = {
  /** The bisque load that the specimens came out of, where it is known. */
  load: count(1, LARGEST).optional(),
  note: text(300).optional(),
  confirm: flag().default(false),
};

const specimens = <S extends z.ZodType>(one: S) =>
  z
    .array(one, { error: 'A list of specimens.' })
    .min(1, 'Weigh at least one specimen.')
    .max(MOST_SPECIMENS, `At most ${MOST_SPECIMENS} specimens.`);

export const bisqueTestBody = z.discriminatedUnion('method', [
  z.strictObject({ method: z.literal('boiled'), ...aboutTest, specimens: specimens(boiledSpecimen) }),
  z.strictObject({ method: z.literal('soaked'), ...aboutTest, specimens: specimens(soakedSpecimen) }),
]);

export const strikeTestForm = z.strictObject({ reason: text(300) });

const storedBoiled = z.array(
  z.object({ dryGrams: z.number(), saturatedGrams: z.number(), suspendedGrams: z.number() }),
);
const storedSoaked = z.array(z.object({ dryGrams: z.number(), soakedGrams: z.number() }));

/** A test as it was weighed, with what follows from it. Shares in percent of the dry mass. */
export type BisqueTest = {
  id: number;
  load: number | null;
  at: Instant;
  by: string;
  note: string | null;
  /** Null while it counts. */
  struck: { by: string; at: Instant; reason: string } | null;
  meanPercent: number;
  /** Sample spread; null of one specimen. */
  spreadPercent: number | null;
} & (
  | {
      method: 'boiled';
      specimens: Specimen[];
      found: AbsorptionTest;
      /** Null where nobody said what its clay should absorb. */
      against: ReturnType<typeof bisqueAgainst> | null;
    }
  | { method: 'soaked'; specimens: SoakedSpecimen[] }
);

function testOf(row: store.TestRow, { band }: Pick<Clay, 'band'>): BisqueTest {
  const { id, load, at, by, note, struckAt, struckBy, reason } = row;
  const struck = struckAt === null ? null : { by: struckBy ?? '', at: struckAt, reason: reason ?? '' };
  const common = { id, load, at, by, note, struck };
  if (row.method === 'soaked') {
    const weighed = storedSoaked.parse(row.specimens);
    return { ...common, ...soakedFigures(weighed), method: 'soaked', specimens: weighed };
  }
  const weighed = storedBoiled.parse(row.specimens);
  const found = absorptionTest(weighed);
  const meanPercent = found.mean.absorptionPercent;
  return {
    ...common,
    meanPercent,
    spreadPercent: found.spread?.absorptionPercent ?? null,
    method: 'boiled',
    specimens: weighed,
    found,
    against: band && bisqueAgainst(band, meanPercent),
  };
}

function soakedFigures(weighed: SoakedSpecimen[]) {
  const shares = weighed.map((one) => 100 * twoMinuteSoakShare(one));
  const meanPercent = shares.reduce((sum, share) => sum + share, 0) / shares.length;
  return { meanPercent, spreadPercent: shares.length < 2 ? null : sampleSpread(shares) };
}

/** Tests of a clay's bisque, the newest first, struck out ones too. Throws NotFound for no such clay. */
export async function listBisqueTests(
  read: Read,
  clayId: number,
  { before = null, limit = PAGE }: { before?: number | null | undefined; limit?: number } = {},
): Promise<{ tests: BisqueTest[]; next: number | null }> {
  const clay = await findClay(read, clayId);
  const rows = await store.listTests(read.tx, clayId, { before, limit: limit + 1 });
  const tests = rows.slice(0, limit).map((row) => testOf(row, clay));
  return { tests, next: rows.length > limit ? (tests.at(-1)?.id ?? null) : null };
}

/** One test of a clay's bisque. Throws NotFound. */
export async function findBisqueTest(read: Read, clayId: number, id: number): Promise<BisqueTest> {
  const clay = await findClay(read, clayId);
  const row = await store.findTest(read.tx, clayId, id);
  if (!row) throw new NotFound('There is no such test of this clay.');
  return testOf(row, clay);
}

/**
 * Keeps a test of a clay's bisque; answers its id. A retired clay may still be tested: its pieces are about.
 * @throws Invalid for masses that cannot be, or a load that no bisque of this clay came out of; paths as in the body
 * @throws Doubtful for masses that are odd, unless confirmed
 */
export async function keepBisqueTest(
  act: Act,
  clayId: number,
  command: z.output<typeof bisqueTestBody>,
): Promise<number> {
  mustBeAllowed(act.actor, 'ware.decide');
  const clay = await findClay(act, clayId);
  const { load, note, confirm } = command;
  const wrong = [...wrongMasses(command), ...(load === undefined ? [] : await wrongLoad(act, load, clay))];
  if (wrong.length > 0) throw new Invalid(wrong);
  if (!confirm) askAboutOdd(command.specimens);
  const figures = figuresOf(command);
  return store.insertTest(act.tx, {
    clayId,
    method: command.method,
    load: load ?? null,
    specimens: command.specimens,
    ...figures,
    at: act.now,
    by: act.actor.id,
    tokenId: act.actor.tokenId,
    noteId: await keepNote(act, note),
  });
}

const wrongMasses = (command: z.output<typeof bisqueTestBody>): FieldError[] => {
  const each =
    command.method === 'boiled' ? command.specimens.map(wrongWith) : command.specimens.map(wrongWithSoaked);
  return each.flatMap((wrong, at) =>
    wrong ? [{ path: `specimens.${at}.${wrong.field}`, message: wrong.message }] : [],
  );
};

async function wrongLoad({ tx }: Act, load: number, { id, name }: Clay): Promise<FieldError[]> {
  const { all, ofClay, bisqued } = await store.firedIn(tx, load, id);
  const beside = (message: string) => [{ path: 'load', message }];
  if (all === 0) return beside(`Nothing came out of load ${load} yet. Leave it empty if nobody knows.`);
  if (ofClay === 0) return beside(`No piece of ${name} came out of load ${load}.`);
  return bisqued === 0 ? beside(`Load ${load} was no bisque for ${name}.`) : [];
}

function askAboutOdd(weighed: readonly (Specimen | SoakedSpecimen)[]): void {
  for (const [at, specimen] of weighed.entries()) {
    const odd = oddAbout(specimen);
    if (odd) throw new Doubtful(`specimens.${at}.${odd.field}`, odd.message);
  }
}

function figuresOf(command: z.output<typeof bisqueTestBody>) {
  if (command.method === 'soaked') {
    const { meanPercent, spreadPercent } = soakedFigures(command.specimens);
    return { absorptionPercent: meanPercent, spreadPercent };
  }
  const { mean, spread } = absorptionTest(command.specimens);
  return {
    absorptionPercent: mean.absorptionPercent,
    spreadPercent: spread?.absorptionPercent ?? null,
    bulkDensity: mean.bulkDensity,
  };
}

/** Strikes out a test that was wrong; it stays, with the reason. Throws NotFound, Conflict for one that is out already. */
export async function strikeBisqueTest(
  act: Act,
  clayId: number,
  id: number,
  { reason }: z.output<typeof strikeTestForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'ware.decide');
  const { struck } = await findBisqueTest(act, clayId, id);
  const already = new Conflict('This is struck out already.');
  if (struck !== null) throw already;
  const noteId = await keepNote(act, reason);
  if (noteId === null) throw new Error('A reason is words.');
  await unlessTaken(
    store.insertStrike(act.tx, { testId: id, by: act.actor.id, at: act.now, noteId }),
    already,
  );
}

/** What the newest boiled test that counts says of each clay that has one, percent, by clay id. */
export async function newestAbsorptions(read: Read): Promise<Map<number, number>> {
  mustBeAllowed(read.actor, 'ware.own');
  const rows = await store.newestCounting(read.tx, 'boiled');
  return new Map(rows.map(({ clayId, absorptionPercent }) => [clayId, absorptionPercent]));
}

/** What a wall of a clay's bisque drinks: two-minute soak as a share of its dry mass, bulk density in g/cm³. */
export interface BisqueWall {
  soakShare: number;
  bulkDensity: number;
}

/** By the newest tests of this clay that count, whatever load they are of; null where one of the two is missing. */
export async function bisqueWall(read: Read, clayId: number): Promise<BisqueWall | null> {
  const { soakShare, bulkDensity } = await wallFigures(read, clayId);
  return soakShare === null || bulkDensity === null ? null : { soakShare, bulkDensity };
}

/** The same, each as far as it was tested. */
export async function wallFigures(
  read: Read,
  clayId: number,
): Promise<{ soakShare: number | null; bulkDensity: number | null }> {
  mustBeAllowed(read.actor, 'ware.own');
  const [[soaked], [boiled]] = await Promise.all([
    store.newestCounting(read.tx, 'soaked', clayId),
    store.newestCounting(read.tx, 'boiled', clayId),
  ]);
  return {
    soakShare: soaked ? soaked.absorptionPercent / 100 : null,
    bulkDensity: boiled?.bulkDensity ?? null,
  };
}

/**
 * What is to be said of pieces whose bisque absorbs more or less than its clay should, by piece id; those of which
 * nothing is to be said are left out. One query; the newest boiled test that counts of clay and load decides.
 */
export async function bisqueWarnings(read: Read, pieceIds: readonly number[]): Promise<Map<number, string>> {
  mustBeAllowed(read.actor, 'ware.own');
  const rows = await store.offBand(read.tx, pieceIds);
  return new Map(
    rows.flatMap(({ pieceId, load, percent, low, high }) => {
      const words = bisqueWarning(load, percent, { low, high });
      return words === null ? [] : [[pieceId, words] as const];
    }),
  );
}
