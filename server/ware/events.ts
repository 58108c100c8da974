import { z } from 'zod';
import type { PieceEventPayload } from './fold.ts';

const payload = z.object({
  once: z.boolean().optional(),
  looks: z.enum(['greenware', 'bisque', 'fired']).optional(),
  reason: z.string().optional(),
  trayMm: z.number().optional(),
  heldBack: z.boolean().optional(),
  endsYes: z.boolean().optional(),
  outcome: z.string().optional(),
  person: z.number().optional(),
  group: z.number().optional(),
  changed: z.record(z.string(), z.string()).optional(),
  glazes: z.array(z.string()).optional(),
  held: z
    .array(
      z.object({
        gravity: z.number().nullable(),
        reading: z.number().nullable(),
        batch: z.number().nullable(),
      }),
    )
    .optional(),
}) satisfies z.ZodType<PieceEventPayload>;

/** A payload as it was stored; throws for what no release ever wrote. */
export const fromStored = (stored: unknown): PieceEventPayload => payload.parse(stored);
