import { z } from 'zod';
import { choice, count, flag, parse, quantity, text } from '../core/forms.ts';
import type { Problem } from '../kilns/packing/problem.ts';

const MOST_MM = 5000;
const MOST_THINGS = 200;

const size = () => quantity(0.001, MOST_MM, 'mm');
const gap = () => quantity(0, MOST_MM, 'mm');
const place = () => quantity(-2 * MOST_MM, 2 * MOST_MM, 'mm');

const circle = { shape: z.literal('circle'), diameterMm: size() };
const rectangle = { shape: z.literal('rectangle'), widthMm: size(), depthMm: size() };

const shelf = z.discriminatedUnion('shape', [
  z.strictObject({ shape: z.literal('round'), diameterMm: size() }),
  z.strictObject({ shape: z.literal('polygon'), sides: count(3, 100), acrossFlatsMm: size() }),
  z.strictObject(rectangle),
]);

const zone = { xMm: place(), yMm: place(), fromMm: place().optional(), toMm: place().optional() };
const keepOut = z.discriminatedUnion('shape', [
  z.strictObject({ ...circle, ...zone }),
  z.strictObject({ ...rectangle, ...zone }),
]);

/** A word alone stands for a stack of that kind. */
const stack = z.preprocess(
  (value) => (typeof value === 'string' ? { kind: value } : value),
  z.strictObject({
    kind: choice(['nest', 'rim-to-rim', 'pile', 'on-edge', 'none']),
    stepMm: size().optional(),
    most: count(1, 1000).optional(),
    like: text(200).optional(),
  }),
);

const piece = z.strictObject({
  id: z
    .union([text(200), count(0, Number.MAX_SAFE_INTEGER)], { error: 'A word or a whole number.' })
    .transform(String),
  footprint: z.discriminatedUnion('shape', [z.strictObject(circle), z.strictObject(rectangle)]),
  heightMm: size(),
  kg: quantity(0, 100_000, 'kg').optional(),
  value: quantity(0, 1e9).optional(),
  group: text(200).optional(),
  tray: gap().optional(),
  stack: stack.optional(),
  level: count(1, 1000).optional(),
});

const problem = z.strictObject({
  shelf,
  edgeGapMm: gap().optional(),
  usableHeightMm: size(),
  floorPostMm: gap().optional(),
  shelfThicknessMm: gap(),
  pieceGapMm: gap(),
  clearanceMm: gap(),
  topClearanceMm: gap(),
  posts: z
    .array(z.strictObject({ heightMm: size(), count: count(0, 100_000) }), { error: 'A list of posts.' })
    .max(MOST_THINGS, `At most ${MOST_THINGS} heights.`),
  postsPerShelf: count(1, 100).optional(),
  postPositions: z
    .array(z.strictObject({ xMm: place(), yMm: place(), widthMm: size(), depthMm: size() }), {
      error: 'A list of places.',
    })
    .max(MOST_THINGS, `At most ${MOST_THINGS} places.`)
    .optional(),
  stackedPosts: flag().optional(),
  halves: flag().optional(),
  splitGapMm: gap().optional(),
  maxLevels: count(1, 1000).optional(),
  shelves: z.strictObject({ full: count(0, 1000), half: count(0, 1000) }).optional(),
  keepOuts: z
    .array(keepOut, { error: 'A list of places.' })
    .max(MOST_THINGS, `At most ${MOST_THINGS} places.`)
    .optional(),
  tallLevel: choice(['top', 'bottom', 'any']).optional(),
  pieces: z
    .array(piece, { error: 'A list of pieces.' })
    .max(2000, 'At most 2000 pieces.')
    .superRefine((pieces, { addIssue }) => {
      const ids = new Set<string>();
      pieces.forEach(({ id }, index) => {
        if (ids.has(id))
          addIssue({ code: 'custom', path: [index, 'id'], message: `Another piece is ${id} too.` });
        ids.add(id);
      });
    }),
  maxLoads: count(1, 1000).optional(),
  timeLimitMs: quantity(1, 600_000).optional(),
  iterations: count(1, 1_000_000_000).optional(),
  seed: count(0, 4_294_967_295).optional(),
}) satisfies z.ZodType<Problem>;

/**
 * A problem for the packer from what a file said, lengths in mm, masses in kg, and each piece's id as it was written there.
 * Throws `Invalid` with the path and the reason of everything that is wrong, names that are not expected included.
 */
export function readProblem(value: unknown): { problem: Problem; written: Map<string, unknown> } {
  const read = parse(problem, value);
  const { pieces } = value as { pieces: { id: unknown }[] };
  return { problem: read, written: new Map(read.pieces.map(({ id }, index) => [id, pieces[index]?.id])) };
}
