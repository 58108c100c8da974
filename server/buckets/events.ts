import { z } from 'zod';
import type { Entry } from './kinds.ts';
import type { BucketEvent } from './ledger.ts';

// What the ledger may hold, version 1. A later version gets a schema and an upgrade beside this one.

const n = z.number();

const payload = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('setup'),
    from: z.enum(['gravity', 'batch']),
    litres: n,
    litresU: n,
    specificGravity: n,
    solidsKg: n,
    waterKg: n,
    batch: n.optional(),
  }),
  z.object({
    kind: z.literal('reading'),
    method: z.enum(['weighed', 'cup', 'hydrometer', 'float']),
    specificGravity: n,
    standardUncertainty: n,
    stirred: z.boolean(),
    pairedWith: n.optional(),
    typed: z.record(z.string(), z.unknown()).optional(),
  }),
  z.object({ kind: z.literal('stir'), pairedWith: n.optional() }),
  z.discriminatedUnion('what', [
    z.object({ kind: z.literal('addition'), what: z.literal('water'), litres: n }),
    z.object({ kind: z.literal('addition'), what: z.literal('dry'), kilograms: n }),
    z.object({
      kind: z.literal('addition'),
      what: z.literal('slurry'),
      litres: n,
      specificGravity: n,
      batch: n.optional(),
    }),
    z.object({
      kind: z.literal('addition'),
      what: z.literal('rinse'),
      litres: n,
      specificGravity: n.nullable(),
      shared: z.boolean().optional(),
    }),
  ]),
  z.object({
    kind: z.literal('draw-off'),
    what: z.enum(['water', 'slurry']),
    litres: n,
    to: z.enum(['rinse', 'batch', 'waste']),
  }),
  z.object({ kind: z.literal('level'), how: z.enum(['litres', 'stick', 'quarters']), litres: n, litresU: n }),
  z.object({ kind: z.literal('dipping'), pieces: n, litres: n, stirred: z.boolean() }),
  z.object({
    kind: z.literal('flow'),
    seconds: n.nullable(),
    word: z.enum(['thin', 'cream', 'custard', 'gelled']).nullable(),
    typed: z.record(z.string(), z.unknown()).optional(),
  }),
  z.object({ kind: z.literal('settling'), fresh: n, later: n.nullable(), minutes: n }),
  z.object({ kind: z.literal('additive'), what: z.enum(['deflocculant', 'epsom']), millilitres: n }),
  z.object({ kind: z.literal('sieve'), mesh: n }),
  z.object({
    kind: z.literal('service'),
    state: z.enum(['in-service', 'on-test', 'do-not-use', 'retired']),
    cause: z.string().nullable(),
  }),
  z.object({ kind: z.literal('tag-hung') }),
  z.object({
    kind: z.literal('recipe'),
    recipeId: n,
    version: n,
    solidsDensity: n,
    hasSolubles: z.boolean(),
  }),
  z.object({
    kind: z.literal('note'),
    problem: z.enum(['contaminated', 'lumps', 'smell', 'lid-off']).optional(),
  }),
  z.object({ kind: z.literal('void'), voids: n }),
]);

/** A stored payload as the arithmetic takes it; throws when the database holds what no release wrote. */
export function fromStored(row: {
  number: number;
  happenedAt: number;
  v: number;
  payload: unknown;
}): BucketEvent & Entry {
  if (row.v !== 1)
    throw new Error(`Event ${row.number} is of version ${row.v}, which this release cannot read.`);
  return { number: row.number, happenedAt: row.happenedAt, ...(payload.parse(row.payload) as Entry) };
}
