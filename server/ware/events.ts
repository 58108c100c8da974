import { z } from 'zod';
import type { PieceEventPayload } from './fold.ts';
import { COAT_FACES, COAT_WAYS, DRY_HOWS, WEIGHING_MOMENTS } from './route.ts';

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
  plan: z
    .object({ inside: z.string().nullable(), outside: z.string().nullable(), over: z.array(z.string()) })
    .optional(),
  coat: z
    .object({
      glaze: z.string(),
      face: z.enum(COAT_FACES),
      way: z.enum(COAT_WAYS),
      seconds: z.number().nullable(),
      gravity: z.number().nullable(),
      reading: z.number().nullable(),
      batch: z.number().nullable(),
      mm: z.number().nullable(),
      from: z.enum(['weighed', 'tiles']).nullable(),
      beforeGrams: z.number().nullable(),
      afterGrams: z.number().nullable(),
      solidsFraction: z.number().nullable(),
      litres: z.number().nullable(),
      unbooked: z.boolean().optional(),
    })
    .optional(),
  weighing: z
    .object({ grams: z.number(), moment: z.enum(WEIGHING_MOMENTS), mm: z.number().optional() })
    .optional(),
  voids: z.number().optional(),
  how: z.enum(DRY_HOWS).optional(),
  onWet: z.boolean().optional(),
  scratch: z.object({ position: z.number(), mm: z.number() }).optional(),
}) satisfies z.ZodType<PieceEventPayload>;

/** A payload as it was stored; throws for what no release ever wrote. */
export const fromStored = (stored: unknown): PieceEventPayload => payload.parse(stored);
