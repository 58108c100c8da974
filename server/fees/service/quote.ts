import { z } from 'zod';
import type { Read, Studio } from '../../core/actor.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { choice, count, quantity } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { findStudio, studioDay } from '../../core/session.ts';
import { ATMOSPHERES, FIRING_KINDS } from '../../ware/firing.ts';
import { writtenCone } from '../../ware/service/index.ts';
import { MOST_OF_ENTRY } from '../ledger.ts';
import { type Price, quoteRows, type Taxed } from '../price.ts';
import { findPayers } from './ledger.ts';
import { feeSettings } from './settings.ts';
import { findTariff, type TariffNow, tariffOn } from './tariffs.ts';

/** Like pieces for one firing each, as somebody asks what they cost. */
export const pieceToQuote = z.strictObject({
  widthMm: quantity(1, 3000, 'mm'),
  depthMm: quantity(1, 3000, 'mm'),
  heightMm: quantity(1, 3000, 'mm'),
  kg: quantity(0.001, 500, 'kg').optional(),
  kind: choice(FIRING_KINDS),
  cone: writtenCone(),
  atmosphere: choice(ATMOSPHERES).default('oxidation'),
  count: count(1, 1000).default(1),
});

export const quoteBody = z.strictObject({
  pieces: z
    .array(pieceToQuote, { error: 'A list of pieces.' })
    .min(1, 'At least one piece.')
    .max(200, 'At most 200 rows of pieces.'),
  /** The number of a price list; without: the one in force today. */
  tariff: count(1, 2_147_483_647).optional(),
});

export interface Quote {
  tariff: TariffNow;
  currency: string;
  rows: { each: Taxed; all: Price; count: number }[];
  /** Net and tax of all of them. */
  totalMinor: bigint;
}

/** The price list in force today; null without one. */
export const listToday = async (read: Read): Promise<TariffNow | null> =>
  tariffOn(read, await studioDay(read));

/**
 * What pieces would cost whoever asks, by their class, fired today. Nothing is recorded.
 * @param isRush wanted so soon that the list asks more for it
 * @throws NotFound for a list that is not theirs to see; Conflict where none is in force; Invalid for what comes to
 * more than anybody is ever charged
 */
export async function quote(
  read: Read,
  { pieces, tariff: number }: z.output<typeof quoteBody>,
  isRush = false,
): Promise<Quote> {
  mustBeAllowed(read.actor, 'fees.own');
  const tariff = number === undefined ? await listToday(read) : await findTariff(read, number);
  if (!tariff) throw new Conflict('No price list is in force today.');
  const [studio, [payer], { classes }] = await Promise.all([
    findStudio(read.tx),
    findPayers(read, [{ kind: 'person', id: read.actor.id }]),
    feeSettings(read),
  ]);
  const memberClass = payer?.memberClass ?? classes[0] ?? null;
  // Whoever asks belongs to a studio.
  const { currency } = studio as Studio;
  const asked = pieces.map((piece) => ({ ...piece, kg: piece.kg ?? null, isRush, memberClass }));
  const rows = quoteRows(tariff.value, currency, asked).map((row, i) => ({
    ...row,
    count: asked[i]?.count ?? 1,
  }));
  const totalMinor = rows.reduce((sum, { all }) => sum + all.amountMinor, 0n);
  if (totalMinor > MOST_OF_ENTRY)
    throw new Invalid([{ path: 'pieces', message: 'That comes to more than anybody is ever charged.' }]);
  return { tariff, currency, rows, totalMinor };
}
