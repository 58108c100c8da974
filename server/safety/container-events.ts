import { z } from 'zod';
import { type ContainerEvent, type ContainerPayload, DISPOSALS } from './container.ts';

// What a container's ledger may hold, version 1. A later version gets a schema and an upgrade beside this one.

export const CONTAINER_EVENT_V = 1;

const n = z.number();
const words = z.string();
const recipe = z.object({ id: n, version: n }).nullable();
const portion = z.object({ recipe, solidsDensity: n, litres: n, solidsKg: n, unmeasuredL: n });
const other = z.object({ containerId: n, number: n });
const leaving = { litres: n, solidsKg: n.nullable() };
const line = z.object({ name: words, kg: n, more: z.boolean() });

const payload = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('in'),
    how: z.enum(['draw-off', 'tools']),
    litres: n,
    recipe,
    solidsDensity: n,
    specificGravity: n.nullable(),
  }),
  z.object({ kind: z.literal('moved-in'), litres: n, portions: z.array(portion), other }),
  z.object({ kind: z.literal('moved-out'), ...leaving, other }),
  z.object({ kind: z.literal('sieved-back'), ...leaving }),
  z.object({
    kind: z.literal('disposal'),
    ...leaving,
    how: z.enum(DISPOSALS),
    byWhom: words,
    manifest: words.nullable(),
    contents: z.object({ materials: z.array(line), unlisted: z.array(line) }),
    classes: z.array(words),
    permittedBy: words.nullable(),
    logEntry: n,
  }),
  z.object({ kind: z.literal('level'), litres: n, specificGravity: n.nullable(), recipe, solidsDensity: n }),
  z.object({ kind: z.literal('void'), voids: n }),
]);

/** A stored row as the arithmetic takes it; throws when the database holds what no release wrote. */
export function fromStoredContainer(row: {
  number: number;
  happenedAt: number;
  v: number;
  payload: unknown;
}): ContainerEvent {
  if (row.v !== CONTAINER_EVENT_V)
    throw new Error(`Row ${row.number} is of version ${row.v}, which this release cannot read.`);
  const read: ContainerPayload = payload.parse(row.payload);
  return { number: row.number, happenedAt: row.happenedAt, ...read };
}
