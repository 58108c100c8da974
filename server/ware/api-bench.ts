import { z } from 'zod';
import { type Endpoint, write } from '../core/api.ts';
import { type FieldError, Invalid } from '../core/errors.ts';
import { count, quantity } from '../core/forms.ts';
import { mustBeAllowed } from '../core/policy.ts';
import { type Absorption, absorptionTest, type Specimen, wrongWith } from './absorption.ts';
import {
  coatOfThickness,
  DRY_COAT_DENSITY,
  dryCoatGrams,
  type Slurry,
  type Tile,
  type Wall,
  wrongWithSlurry,
} from './coat.ts';
import { type CoatFit, fitCoat, perRootSecond } from './coat-fit.ts';
import { dryingTime } from './drying.ts';
import { dwellFor } from './dwell.ts';

const MOST_TILES = 500;
const MOST_SPECIMENS = 200;
const MOST_WEIGHINGS = 500;
const MOST_GRAMS = 1_000_000;

const num = z.number();
const grams = () => quantity(0.001, MOST_GRAMS, 'g');
const gravity = () => quantity(1.001, 3);
const density = () => quantity(1.001, 10);

const tile = z.strictObject({
  dwellSeconds: quantity(0, 3600, 's'),
  specificGravity: gravity(),
  solidsDensity: density(),
  areaCm2: quantity(0.01, 100_000),
  /** One of the two: the coat weighed dry, or what the tile gained wet. */
  dryCoatGrams: grams().optional(),
  wetGainGrams: grams().optional(),
});

const coatBody = z.strictObject({
  tiles: z.array(tile, { error: 'A list of tiles.' }).max(MOST_TILES, `At most ${MOST_TILES} tiles.`),
  /** One of the two: dry coat per area, or its thickness. */
  want: z.strictObject({
    gramsPerCm2: quantity(0.0001, 10).optional(),
    thicknessMm: quantity(0.001, 50, 'mm').optional(),
    /** g/cm³; belongs to a thickness. */
    dryCoatDensity: quantity(0.2, 10).optional(),
  }),
  at: z.strictObject({
    specificGravity: gravity(),
    /** Without: that of the tiles. */
    solidsDensity: density().optional(),
    /** What is dipped, where it is known: a thin wall cannot drink much. */
    wall: z
      .strictObject({
        soakPercent: quantity(0.01, 100),
        bulkDensity: quantity(0.1, 10),
        thicknessMm: quantity(0.1, 500, 'mm'),
        glazedFaces: count(1, 2).default(2),
      })
      .optional(),
  }),
});

const absorptionBody = z.strictObject({
  specimens: z
    .array(
      z.strictObject({
        dryGrams: grams(),
        saturatedGrams: grams(),
        suspendedGrams: quantity(0, MOST_GRAMS, 'g'),
      }),
      {
        error: 'A list of specimens.',
      },
    )
    .min(1, 'At least one specimen.')
    .max(MOST_SPECIMENS, `At most ${MOST_SPECIMENS} specimens.`),
});

const dryingBody = z.strictObject({
  weighings: z
    .array(z.strictObject({ hours: quantity(0, 100_000, 'h'), grams: grams() }), {
      error: 'A list of weighings.',
    })
    .min(1, 'At least one weighing.')
    .max(MOST_WEIGHINGS, `At most ${MOST_WEIGHINGS} weighings.`),
  /** Bisque and dry coat. */
  dryGrams: grams(),
  waterLeftShare: quantity(0.001, 0.999).default(0.1),
});

const absorption = z.object({
  absorptionPercent: num,
  apparentPorosityPercent: num,
  /** g/cm³ */
  bulkDensity: num,
  apparentSpecificGravity: num,
});

/** The bench's arithmetic for a studio's own programs. Nothing is stored. */
export const benchEndpoints: Endpoint[] = [
  write({
    path: '/coat/fit',
    permission: 'buckets.see',
    summary: 'How thick a coat test tiles took, and how long to count for a wanted one; coats are dry, g/cm²',
    body: coatBody,
    status: 200,
    answer: z.object({
      /** Null where tiles do not make a line: none, or all dipped for one count. */
      intercept: num.nullable(),
      /** In a slurry as in `at`. */
      perRootSecond: num.nullable(),
      standardErrors: z.object({ intercept: num, perRootSecond: num }).nullable(),
      /** Seconds; null where tiles speak against the law, `high` where they set no end. Without a line: what is usual. */
      dwell: z.object({ low: num, best: num, high: num.nullable() }).nullable(),
      counts: z.object({ from: z.int(), to: z.int() }).nullable(),
      /** The wall, or the tiles' walls, take less than is wanted. */
      saturated: z.boolean(),
      basis: z.enum(['own', 'none']),
      /** Solids by volume in the coat as it forms; fitted from six tiles at three gravities up. */
      criticalFraction: num.nullable(),
      /** Positions of tiles that fit none of the others. */
      leftOut: z.array(z.int()),
      words: z.string(),
    }),
    async run({ actor }, { body }) {
      mustBeAllowed(actor, 'buckets.see');
      return coatAnswer(body);
    },
  }),
  write({
    path: '/absorption',
    permission: 'buckets.see',
    summary:
      'Absorption, porosity and densities of fired specimens by ASTM C373, with mean and sample spread',
    body: absorptionBody,
    status: 200,
    answer: z.object({
      specimens: z.array(absorption),
      mean: absorption,
      /** Null of one specimen. */
      spread: absorption.nullable(),
    }),
    async run(
      { actor },
      { body },
    ): Promise<{ specimens: Absorption[]; mean: Absorption; spread: Absorption | null }> {
      mustBeAllowed(actor, 'buckets.see');
      refuse(
        body.specimens.flatMap((specimen, i) =>
          beside(`specimens.${i}`, wrongWith(specimen satisfies Specimen)),
        ),
      );
      return absorptionTest(body.specimens);
    },
  }),
  write({
    path: '/drying',
    permission: 'buckets.see',
    summary: 'When a wet piece will be dry enough for its next coat, from weighings, or why nobody can say',
    body: dryingBody,
    status: 200,
    answer: z.object({
      /** On the clock of the weighings. */
      readyAtHours: num.nullable(),
      range: z.object({ low: num, high: num }).nullable(),
      timeConstantHours: num.nullable(),
      reason: z.enum(['too-few', 'below-dry', 'already-dry', 'rising', 'equal', 'no-fit']).nullable(),
    }),
    async run({ actor }, { body }) {
      mustBeAllowed(actor, 'buckets.see');
      const found = dryingTime(body.weighings, body.dryGrams, body.waterLeftShare);
      return found.reason === null
        ? found
        : { readyAtHours: null, range: null, timeConstantHours: null, reason: found.reason };
    },
  }),
];

function coatAnswer({ tiles: typed, want, at }: z.output<typeof coatBody>) {
  refuse([...typed.flatMap((t, i) => wrongWithTile(t, `tiles.${i}`)), ...wrongWithWant(want)]);
  const tiles = typed.map(asTile);
  const fit = fitCoat(tiles);
  const slurry: Slurry = {
    specificGravity: at.specificGravity,
    solidsDensity:
      at.solidsDensity ?? (fit.basis === 'none' ? typed[0]?.solidsDensity : fit.solidsDensity) ?? 2.6,
  };
  refuse(beside('at', wrongWithSlurry(slurry, fit.basis === 'none' ? undefined : fit.criticalFraction)));
  const wanted =
    want.gramsPerCm2 ?? coatOfThickness(want.thicknessMm ?? 0, want.dryCoatDensity ?? DRY_COAT_DENSITY);
  const { wall } = at;
  const { seconds, counts, saturated, words } = dwellFor(fit, wanted, {
    ...slurry,
    ...(wall && { wall: asWall(wall) }),
  });
  return { ...lineOf(fit.basis === 'none' ? null : fit, slurry), dwell: seconds, counts, saturated, words };
}

function lineOf(fit: CoatFit | null, slurry: Slurry) {
  if (!fit)
    return {
      intercept: null,
      perRootSecond: null,
      standardErrors: null,
      basis: 'none' as const,
      criticalFraction: null,
      leftOut: [],
    };
  const slope = perRootSecond(fit, slurry);
  return {
    intercept: fit.intercept,
    perRootSecond: slope.value,
    standardErrors: {
      intercept: Math.sqrt(Math.max(0, fit.covariance[0]?.[0] ?? 0)),
      perRootSecond: slope.standardError,
    },
    basis: 'own' as const,
    criticalFraction: fit.criticalFraction,
    leftOut: fit.leftOut,
  };
}

function wrongWithTile(typed: z.output<typeof tile>, path: string): FieldError[] {
  const wrong = beside(path, wrongWithSlurry(typed));
  if (typed.dryCoatGrams === undefined && typed.wetGainGrams === undefined)
    wrong.push({ path: `${path}.dryCoatGrams`, message: 'Give the dry coat or the wet gain.' });
  if (
    typed.dryCoatGrams !== undefined &&
    typed.wetGainGrams !== undefined &&
    typed.dryCoatGrams >= typed.wetGainGrams
  )
    wrong.push({ path: `${path}.dryCoatGrams`, message: 'Dry, the coat weighs less than wet.' });
  return wrong;
}

function wrongWithWant({
  gramsPerCm2,
  thicknessMm,
  dryCoatDensity,
}: z.output<typeof coatBody>['want']): FieldError[] {
  if (gramsPerCm2 === undefined && thicknessMm === undefined)
    return [{ path: 'want', message: 'Give gramsPerCm2 or thicknessMm.' }];
  if (gramsPerCm2 !== undefined && thicknessMm !== undefined)
    return [{ path: 'want.thicknessMm', message: 'Give gramsPerCm2 or thicknessMm, not both.' }];
  if (gramsPerCm2 !== undefined && dryCoatDensity !== undefined)
    return [{ path: 'want.dryCoatDensity', message: 'A density belongs to a thickness.' }];
  return [];
}

/** What was weighed dry is nearer to the coat than what follows from the wet gain and the gravity. */
const asTile = (typed: z.output<typeof tile>): Tile => ({
  seconds: typed.dwellSeconds,
  specificGravity: typed.specificGravity,
  solidsDensity: typed.solidsDensity,
  areaCm2: typed.areaCm2,
  dryCoatGrams: typed.dryCoatGrams ?? dryCoatGrams(typed.wetGainGrams ?? 0, typed),
});

const asWall = (wall: NonNullable<z.output<typeof coatBody>['at']['wall']>): Wall => ({
  soakShare: wall.soakPercent / 100,
  bulkDensity: wall.bulkDensity,
  thicknessMm: wall.thicknessMm,
  glazedFaces: wall.glazedFaces === 1 ? 1 : 2,
});

const beside = (path: string, wrong: { field: string; message: string } | null): FieldError[] =>
  wrong ? [{ path: `${path}.${wrong.field}`, message: wrong.message }] : [];

function refuse(errors: FieldError[]): void {
  if (errors.length > 0) throw new Invalid(errors);
}
