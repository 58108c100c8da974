import { z } from 'zod';
import { Doubtful, Invalid } from '../core/errors.ts';
import { choice, code, flag, quantity } from '../core/forms.ts';
import { type Calibration, fromMark } from './float.ts';
import {
  brimfulCup,
  type HydrometerScale,
  hydrometer,
  type Measured,
  normaliseTo20,
  weighed,
} from './gravity.ts';
import {
  always,
  common,
  type Entry,
  type Instrument,
  kind,
  mustBeSlurry,
  type Situation,
  taken,
} from './kind.ts';
import type { Facts } from './ledger.ts';

/** A reading farther than this from what the ledger expects is asked about once. */
const ODD_SHIFT = 0.05;

const measured = {
  temperatureC: quantity(0, 40, '°C').optional(),
  stirred: flag().default(true),
  replicates: z.array(quantity(0, 100_000)).max(20, 'At most 20 more.').optional(),
  confirm: flag().default(false),
  ...common,
};

const readingBody = z.discriminatedUnion('method', [
  z.strictObject({
    method: z.literal('weighed'),
    /** Net with `millilitres`; with `vessel`, the cup and the glaze together. */
    grams: quantity(0, 100_000, 'g'),
    millilitres: quantity(1, 50_000, 'mL').optional(),
    vessel: code().optional(),
    /** A scale of the studio, for its resolution. */
    instrument: code().optional(),
    resolutionGrams: quantity(0.001, 100, 'g').optional(),
    toleranceMillilitres: quantity(0, 100, 'mL').optional(),
    ...measured,
  }),
  z.strictObject({
    method: z.literal('hydrometer'),
    /** A hydrometer of the studio, for its scale and division; without one the scale is SG. */
    instrument: code().optional(),
    scale: choice(['sg', 'twaddell', 'baume']).optional(),
    value: quantity(0, 400),
    division: quantity(0, 10).optional(),
    ...measured,
  }),
  z.strictObject({
    method: z.literal('float'),
    float: code(),
    /** mm of the stem that are immersed; a second number, read while sinking, is a replicate. */
    millimetres: quantity(0, 1000, 'mm'),
    ...measured,
  }),
]);
type Reading = z.output<typeof readingBody>;
type ReadBy<M extends Reading['method']> = Extract<Reading, { method: M }>;

export const reading = kind({
  path: 'readings',
  summary: 'Record a measurement of specific gravity',
  body: readingBody,
  permission: always('buckets.measure'),
  entries(body, situation) {
    const { facts } = situation;
    const field = { weighed: 'grams', hydrometer: 'value', float: 'millimetres' }[body.method];
    const { confirm: _, happenedAt: __, note: ___, method: ____, stirred, ...rest } = body;
    const typed =
      body.method === 'hydrometer' ? { ...rest, scale: readOn(body, situation).scale } : { ...rest };
    const found = taken(field, () => {
      const raw = measure(body, situation);
      return body.temperatureC === undefined
        ? raw
        : normaliseTo20(raw, { temperatureC: body.temperatureC, solidsDensity: facts.solidsDensity });
    });
    mustBeSlurry(field, found.specificGravity, facts.solidsDensity);
    if (situation.isLatest && !body.confirm) mustBeExpected(field, found, facts);
    const method = body.method === 'weighed' && body.vessel !== undefined ? 'cup' : body.method;
    const next = facts.lastNumber + 1;
    const entry: Entry & { kind: 'reading' } = { kind: 'reading', method, ...found, stirred, typed };
    if (!stirred) return [entry];
    return [
      { kind: 'stir', pairedWith: next + 1 },
      { ...entry, pairedWith: next },
    ];
  },
});

function measure(body: Reading, situation: Situation): Measured {
  switch (body.method) {
    case 'weighed':
      return weigh(body, situation);
    case 'hydrometer':
      return hydrometer({
        ...readOn(body, situation),
        values: [body.value, ...(body.replicates ?? [])],
        temperatureC: body.temperatureC,
      });
    case 'float':
      return fromMark(calibrationOf(body, situation), [body.millimetres, ...(body.replicates ?? [])]);
  }
}

function weigh(body: ReadBy<'weighed'>, { cup, instrument }: Situation): Measured {
  const grams = [body.grams, ...(body.replicates ?? [])];
  const scale = named('scale', body, instrument);
  const resolutionG = body.resolutionGrams ?? scale?.resolutionG ?? undefined;
  if (body.vessel !== undefined) {
    if (body.millilitres !== undefined)
      throw new Invalid([
        { path: 'millilitres', message: 'A cup holds what it holds: leave the millilitres out.' },
      ]);
    if (!cup) throw new Invalid([{ path: 'vessel', message: `No cup is called ${body.vessel} here.` }]);
    return brimfulCup({
      grams,
      tareG: cup.tareG,
      waterG: cup.waterG,
      calibrationC: cup.waterC,
      resolutionG: resolutionG ?? cup.resolutionG,
      calibrationResolutionG: cup.resolutionG,
    });
  }
  if (body.millilitres === undefined)
    throw new Invalid([
      { path: 'millilitres', message: 'Say how many millilitres were weighed, or which cup.' },
    ]);
  return weighed({
    grams,
    millilitres: body.millilitres,
    resolutionG,
    toleranceMl: body.toleranceMillilitres,
  });
}

/** The scale and division that a value was read on: as typed, else those of the named hydrometer. */
function readOn(
  body: ReadBy<'hydrometer'>,
  { instrument }: Situation,
): { scale: HydrometerScale; division: number | undefined } {
  const own = named('hydrometer', body, instrument);
  if (own && body.scale !== undefined && body.scale !== own.scale)
    throw new Invalid([{ path: 'scale', message: `${own.name} (${own.code}) has another scale.` }]);
  return {
    scale: body.scale ?? own?.scale ?? 'sg',
    division: body.division ?? own?.division ?? undefined,
  };
}

function calibrationOf({ float: code }: ReadBy<'float'>, { float }: Situation): Calibration {
  const refuse = (message: string) => new Invalid([{ path: 'float', message }]);
  if (!float) throw refuse(`No float is called ${code} here.`);
  if (!float.calibration) throw refuse(`Float ${code} is not calibrated yet.`);
  return float.calibration;
}

function named(
  kind: Instrument['kind'],
  { instrument: code }: { instrument?: string | undefined },
  found: Instrument | null,
): Instrument | null {
  if (code === undefined) return null;
  if (found?.kind === kind) return found;
  throw new Invalid([{ path: 'instrument', message: `No ${kind} is called ${code} here.` }]);
}

function mustBeExpected(path: string, found: Measured, facts: Facts): void {
  if (facts.gravity === null || Math.abs(found.specificGravity - facts.gravity) <= ODD_SHIFT) return;
  throw new Doubtful(
    path,
    `Is this right? It makes ${found.specificGravity.toFixed(2)}, where ${facts.gravity.toFixed(2)} was expected.`,
  );
}
