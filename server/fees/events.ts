import { z } from 'zod';

/** What an entry says of itself beside its columns: no names and no words of anybody's. */
const payload = z.object({
  /** The line or item as the price list called it. */
  name: z.string().optional(),
  /** The arithmetic, a step a line. */
  because: z.array(z.string()).default([]),
  quantity: z.string().optional(),
  unit: z.string().optional(),
  /** Included litres that paid for a part, cm³. */
  coveredCm3: z.number().optional(),
  /** Of a firing: the piece's box and its payer's class, as it was priced by them. */
  widthMm: z.number().optional(),
  depthMm: z.number().optional(),
  heightMm: z.number().optional(),
  memberClass: z.string().optional(),
  /** What a card terminal or a bank calls a payment. */
  reference: z.string().optional(),
  /** The account that the net amount stands on. */
  against: z.string(),
});
export type EntryPayload = z.output<typeof payload>;
export type NewPayload = Omit<z.input<typeof payload>, 'against'>;

/** What a firing was priced by; its strike-out and its credit say the same of it. */
export const pricedBy = ({ widthMm, depthMm, heightMm, memberClass }: EntryPayload) => ({
  widthMm,
  depthMm,
  heightMm,
  memberClass,
});

/** A payload as it was stored; throws for what no release ever wrote. */
export const fromStored = (stored: unknown): EntryPayload => payload.parse(stored);
