import { z } from 'zod';
import { choice, code, count, flag, instant, quantity, text } from '../../core/forms.ts';
import { DISPOSALS } from '../container.ts';

const common = { happenedAt: instant().optional(), note: text(500).optional() };
const litres = () => quantity(0.01, 1000, 'L');
const gravity = () => quantity(1, 4);

/** What can be recorded at a container. */
export const containerEventBody = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('in'),
    litres: litres(),
    specificGravity: gravity().optional(),
    /** The glaze on the tools, where the container is not of one. */
    bucket: code().optional(),
    ...common,
  }),
  z.strictObject({
    kind: z.literal('sieve-back'),
    litres: litres(),
    specificGravity: gravity().optional(),
    /** A bucket of mixed reclaim; a glaze's own rinse goes back to that glaze. */
    bucket: code().optional(),
    ...common,
  }),
  z.strictObject({
    kind: z.literal('move'),
    litres: litres(),
    /** The code of another container. */
    to: code(),
    /** Only the clear water off the top. */
    clear: flag().default(false),
    ...common,
  }),
  z.strictObject({
    kind: z.literal('level'),
    litres: quantity(0, 1000, 'L'),
    specificGravity: gravity().optional(),
    ...common,
  }),
  z.strictObject({
    kind: z.literal('dispose'),
    litres: quantity(0, 1000, 'L'),
    clear: flag().default(false),
    how: choice(DISPOSALS),
    byWhom: text(120),
    manifest: text(60).optional(),
    ...common,
  }),
  z.strictObject({ kind: z.literal('void'), number: count(1, 1_000_000_000), reason: text(500) }),
]);
export type ContainerCommand = z.output<typeof containerEventBody>;

/** What is recorded of one kind of act. */
export type Command<K extends ContainerCommand['kind']> = Omit<
  Extract<ContainerCommand, { kind: K }>,
  'kind'
>;
