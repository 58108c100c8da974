import { z } from 'zod';
import { Conflict, Invalid } from '../core/errors.ts';
import { choice, code, count, flag, quantity, text } from '../core/forms.ts';
import { volume } from '../core/units.ts';
import { WATER_20 } from './gravity.ts';
import { always, common, kind, mustBeSlurry, mustFit, mustFitIn } from './kind.ts';
import { reading } from './reading.ts';
import { gravityOf, litresOf, solidsKg, waterKg } from './slurry.ts';
import { litresAtDepth, litresPerMm } from './vessel.ts';

export type { Cup, Entry, Instrument, Kind, Situation } from './kind.ts';

const litres = () => quantity(0.01, 1000, 'L');
const gravity = () => quantity(1, 4);

/** Standard uncertainty of litres that somebody entered, relative. */
const ENTERED_U = 0.02;
const SIZES = { cups: 0.05, bowls: 0.1, large: 0.25 } as const;
const STICK_RESOLUTION_MM = 5;

const setup = kind({
  path: 'setup',
  summary: 'Say what is in a bucket: litres of a known gravity, or a weighed batch',
  body: z.strictObject({
    litres: litres().optional(),
    specificGravity: gravity().optional(),
    dryKg: quantity(0.01, 2000, 'kg').optional(),
    waterLitres: litres().optional(),
    ...common,
  }),
  permission: always('buckets.set-up'),
  entries(body, situation) {
    const S = situation.facts.solidsDensity;
    const mixed = [body.litres, body.specificGravity].some((v) => v !== undefined);
    const batch = [body.dryKg, body.waterLitres].some((v) => v !== undefined);
    if (mixed && batch)
      throw new Invalid([
        { path: 'litres', message: 'Either litres and gravity, or dry weight and water: not both.' },
      ]);
    if (body.dryKg !== undefined && body.waterLitres !== undefined) {
      const mass = { solidsKg: body.dryKg, waterKg: waterMass(body.waterLitres) };
      const filled = litresOf(mass.solidsKg, mass.waterKg, S);
      mustFit('waterLitres', filled, situation);
      const specificGravity = gravityOf(mass.solidsKg, mass.waterKg, S);
      return [
        {
          kind: 'setup',
          from: 'batch',
          litres: filled,
          litresU: ENTERED_U * filled,
          specificGravity,
          ...mass,
        },
      ];
    }
    if (body.litres === undefined || body.specificGravity === undefined)
      throw new Invalid([
        { path: 'litres', message: 'Give litres and gravity, or the dry weight and the water.' },
      ]);
    mustFit('litres', body.litres, situation);
    mustBeSlurry('specificGravity', body.specificGravity, S);
    return [
      {
        kind: 'setup',
        from: 'gravity',
        litres: body.litres,
        litresU: ENTERED_U * body.litres,
        specificGravity: body.specificGravity,
        solidsKg: solidsKg(body.litres, body.specificGravity, S),
        waterKg: waterKg(body.litres, body.specificGravity, S),
      },
    ];
  },
});

const stir = kind({
  path: 'stirs',
  summary: 'Record that the bucket was stirred to the bottom',
  body: z.strictObject({ ...common }),
  permission: always('buckets.record'),
  entries: () => [{ kind: 'stir' }],
});

const addition = kind({
  path: 'top-ups',
  summary: 'Record water, dry glaze, mixed slurry or rinse that was added',
  body: z.discriminatedUnion('kind', [
    z.strictObject({ kind: z.literal('water'), litres: litres(), ...common }),
    z.strictObject({ kind: z.literal('dry'), kilograms: quantity(0.001, 1000, 'kg'), ...common }),
    z.strictObject({ kind: z.literal('slurry'), litres: litres(), specificGravity: gravity(), ...common }),
    z.strictObject({
      kind: z.literal('rinse'),
      litres: litres(),
      specificGravity: gravity().optional(),
      ...common,
    }),
  ]),
  permission: (body) => (body.kind === 'water' ? 'buckets.add-water' : 'buckets.add-other'),
  entries(body, situation) {
    const { facts, isReclaim } = situation;
    if (body.kind === 'dry') {
      mustFitIn('kilograms', body.kilograms / facts.solidsDensity, situation);
      return [{ kind: 'addition', what: 'dry', kilograms: body.kilograms }];
    }
    mustFitIn('litres', body.litres, situation);
    if (body.kind === 'water') return [{ kind: 'addition', what: 'water', litres: body.litres }];
    if (body.specificGravity !== undefined)
      mustBeSlurry('specificGravity', body.specificGravity, facts.solidsDensity);
    if (body.kind === 'slurry')
      return [
        { kind: 'addition', what: 'slurry', litres: body.litres, specificGravity: body.specificGravity },
      ];
    return [
      {
        kind: 'addition',
        what: 'rinse',
        litres: body.litres,
        specificGravity: body.specificGravity ?? null,
        ...(isReclaim && { shared: true }),
      },
    ];
  },
});

const drawOff = kind({
  path: 'draw-offs',
  summary: 'Record clear water taken off after settling, or slurry taken out',
  body: z.strictObject({
    litres: litres(),
    to: choice(['rinse', 'batch', 'waste']).default('rinse'),
    what: choice(['water', 'slurry']).default('water'),
    ...common,
  }),
  permission: always('buckets.take-out'),
  entries(body, { facts, isLatest, units }) {
    const water = facts.waterKg === null ? null : facts.waterKg / WATER_20;
    const there = body.what === 'water' ? water : facts.litres;
    if (isLatest && there !== null && body.litres > there)
      throw new Invalid([
        {
          path: 'litres',
          message: `There are only about ${volume(there, units)} of ${body.what} in the bucket by the ledger. Record the level first if that is wrong.`,
        },
      ]);
    return [{ kind: 'draw-off', what: body.what, litres: body.litres, to: body.to }];
  },
});

const level = kind({
  path: 'levels',
  summary: 'Record how full the bucket is: litres, a dip-stick depth, or quarters',
  body: z.strictObject({
    litres: quantity(0, 1000, 'L').optional(),
    depthMm: quantity(0, 3000, 'mm').optional(),
    quarters: count(0, 4).optional(),
    ...common,
  }),
  permission: always('buckets.record'),
  entries(body, situation) {
    const { capacityLitres, shape } = situation;
    if ([body.litres, body.depthMm, body.quarters].filter((v) => v !== undefined).length !== 1)
      throw new Invalid([{ path: 'litres', message: 'Say how full in one way: litres, stick or quarters.' }]);
    if (body.quarters !== undefined) {
      const litres = (body.quarters / 4) * capacityLitres;
      return [{ kind: 'level', how: 'quarters', litres, litresU: capacityLitres / 8 / Math.sqrt(3) }];
    }
    if (body.depthMm !== undefined) {
      if (!shape)
        throw new Invalid([{ path: 'depthMm', message: "This bucket's shape is not known: give litres." }]);
      if (body.depthMm > shape.heightMm)
        throw new Invalid([{ path: 'depthMm', message: `The bucket is ${shape.heightMm} mm deep.` }]);
      const litres = litresAtDepth(shape, body.depthMm);
      mustFit('depthMm', litres, situation);
      const litresU = (STICK_RESOLUTION_MM / Math.sqrt(12)) * litresPerMm(shape, body.depthMm);
      return [{ kind: 'level', how: 'stick', litres, litresU }];
    }
    const litres = body.litres as number;
    mustFit('litres', litres, situation);
    return [{ kind: 'level', how: 'litres', litres, litresU: ENTERED_U * litres }];
  },
});

const dipping = kind({
  path: 'dippings',
  summary: 'Record pieces dipped: how many, or by size, or the litres used',
  body: z.strictObject({
    pieces: count(1, 1000).optional(),
    litres: quantity(0, 100, 'L').optional(),
    cups: count(0, 500).optional(),
    bowls: count(0, 500).optional(),
    large: count(0, 500).optional(),
    stirred: flag().default(false),
    ...common,
  }),
  permission: always('buckets.record'),
  entries(body, situation) {
    const { facts, isLatest } = situation;
    if (isLatest && (facts.service === 'do-not-use' || facts.service === 'retired')) {
      const is = facts.service === 'retired' ? 'retired' : 'marked "Do not use"';
      throw new Conflict(`This bucket is ${is}: a dipping cannot be recorded on it.`);
    }
    const { cups = 0, bowls = 0, large = 0 } = body;
    const bySize = cups + bowls + large;
    if (bySize > 0 && body.pieces !== undefined && body.pieces !== bySize)
      throw new Invalid([
        { path: 'pieces', message: `By size that makes ${bySize}: give the one or the other.` },
      ]);
    const pieces = body.pieces ?? (bySize || 1);
    const litres =
      body.litres ??
      (bySize ? cups * SIZES.cups + bowls * SIZES.bowls + large * SIZES.large : pieces * SIZES.bowls);
    mustFit('litres', litres, situation);
    return [{ kind: 'dipping', pieces, litres, stirred: body.stirred }];
  },
});

const flow = kind({
  path: 'flows',
  summary: "Record how it flows: seconds through the studio's cup, or a word",
  body: z.strictObject({
    seconds: quantity(0.5, 600, 's').optional(),
    word: choice(['thin', 'cream', 'custard', 'gelled']).optional(),
    /** A flow cup of the studio; it says nothing about a word. */
    cup: code().optional(),
    ...common,
  }),
  permission: always('buckets.record'),
  entries({ seconds, word, cup }, { instrument }) {
    if ((seconds === undefined) === (word === undefined))
      throw new Invalid([
        { path: 'seconds', message: 'Type the seconds, or choose a word, one of the two.' },
      ]);
    if (cup !== undefined && instrument?.kind !== 'flow-cup')
      throw new Invalid([{ path: 'cup', message: `No flow cup is called ${cup} here.` }]);
    return [
      {
        kind: 'flow',
        seconds: seconds ?? null,
        word: word ?? null,
        ...(seconds !== undefined && cup !== undefined && { typed: { cup } }),
      },
    ];
  },
});

const settling = kind({
  path: 'settlings',
  summary:
    'Record SG at dipping depth right after stirring, and again untouched; the second may follow later',
  body: z.strictObject({
    fresh: gravity(),
    later: gravity().optional(),
    minutes: quantity(1, 240, 'min').default(10),
    ...common,
  }),
  permission: always('buckets.record'),
  entries({ fresh, later, minutes }, { facts }) {
    mustBeSlurry('fresh', fresh, facts.solidsDensity);
    if (later !== undefined) mustBeSlurry('later', later, facts.solidsDensity);
    return [{ kind: 'settling', fresh, later: later ?? null, minutes }];
  },
});

/** Of the litres in it; more would change how much water is in it, which this does not count. */
const MOST_ADDITIVE = 0.02;

const additive = kind({
  path: 'additives',
  summary: 'Record drops that change how it flows: deflocculant loosens, Epsom salts stiffen',
  body: z.strictObject({
    what: choice(['deflocculant', 'epsom']),
    millilitres: quantity(0.05, 1000, 'mL'),
    ...common,
  }),
  permission: always('buckets.add-other'),
  entries({ what, millilitres }, { facts, isLatest }) {
    if (isLatest && facts.litres !== null && millilitres / 1000 > MOST_ADDITIVE * facts.litres)
      throw new Invalid([
        {
          path: 'millilitres',
          message: `More than 2 % of the ${facts.litres.toFixed(1)} L in it: this is for drops, which change no SG.`,
        },
      ]);
    return [{ kind: 'additive', what, millilitres }];
  },
});

const sieve = kind({
  path: 'sievings',
  summary: 'Record that the bucket was sieved',
  body: z.strictObject({ mesh: count(10, 500).optional(), ...common }),
  permission: always('buckets.sieve'),
  entries: (body, { sieveMesh }) => [{ kind: 'sieve', mesh: body.mesh ?? sieveMesh }],
});

const service = kind({
  path: 'service',
  summary: 'Take a bucket out of use or put it back',
  body: z.strictObject({
    state: choice(['in-service', 'on-test', 'do-not-use', 'retired']),
    reason: text(500).optional(),
    ...common,
  }),
  permission: (body) => (body.state === 'do-not-use' ? 'buckets.stop-use' : 'buckets.return-to-service'),
  entries(body, { untestedBatch }) {
    if (body.state === 'in-service' && untestedBatch !== null)
      throw new Conflict(
        `Batch ${untestedBatch} in it has no accepted tile yet: put it on test, and accept the glaze by a fired tile.`,
      );
    if (body.state === 'do-not-use' && body.reason === undefined)
      throw new Invalid([{ path: 'reason', message: 'Say why, so that the next person understands.' }]);
    return [{ kind: 'service', state: body.state, cause: null }];
  },
});

const problem = kind({
  path: 'problems',
  summary: 'Report a problem; another glaze or a sponge in it means "do not use" at once',
  body: z.strictObject({ problem: choice(['contaminated', 'lumps', 'smell', 'lid-off']), ...common }),
  permission: always('buckets.record'),
  entries: (body) =>
    body.problem === 'contaminated'
      ? [{ kind: 'service', state: 'do-not-use', cause: body.problem }]
      : [{ kind: 'note', problem: body.problem }],
});

const tagHung = kind({
  path: 'tags',
  summary: 'Say that the "do not use" tag hangs on the bucket',
  body: z.strictObject({ ...common }),
  permission: always('buckets.record'),
  entries(_body, { facts }) {
    if (facts.service !== 'do-not-use') throw new Conflict('This bucket is not marked "Do not use".');
    return [{ kind: 'tag-hung' }];
  },
});

const note = kind({
  path: 'notes',
  summary: 'Write something down about the bucket',
  body: z.strictObject({ ...common, note: text(500) }),
  permission: always('buckets.record'),
  entries: () => [{ kind: 'note' }],
});

/** Every act a person records at a bucket, by its path; voids and recipes have use cases of their own. */
export const KINDS = {
  setup,
  readings: reading,
  stirs: stir,
  'top-ups': addition,
  'draw-offs': drawOff,
  levels: level,
  dippings: dipping,
  flows: flow,
  settlings: settling,
  additives: additive,
  sievings: sieve,
  service,
  problems: problem,
  tags: tagHung,
  notes: note,
} as const;

export type KindPath = keyof typeof KINDS;

function waterMass(volumeL: number): number {
  return volumeL * WATER_20;
}
