import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { moneyText } from '../../core/money.ts';
import { studioDay } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { type Firing, firingWords } from '../../ware/firing.ts';
import { groupBy } from '../../ware/group.ts';
import type { PieceFees, PieceToQuote } from '../../ware/service/fee-gate.ts';
import { upper } from '../../ware/words.ts';
import { fromStored } from '../events.ts';
import { litresText, monthlyCm3 } from '../litres.ts';
import { isRush } from '../piece-price.ts';
import { chargeable, type Price, quotePieces } from '../price.ts';
import { chargesOfPieces, creditsOf, insertQuotes, quotesOf } from '../store/charges.ts';
import { settingOf } from './charging.ts';
import { litresLeft } from './included.ts';
import { findPayers, type Holder } from './ledger.ts';
import { type TariffNow, tariffOn } from './tariffs.ts';

const MOST = 1_000_000_000_000;
const quoted = z.object({
  firings: z.array(
    z.object({
      kind: z.enum(['bisque', 'glaze', 'lustre', 'other']),
      cone: z.string(),
      atmosphere: z.enum(['oxidation', 'reduction']),
      amountMinor: z.int().min(-MOST).max(MOST),
      because: z.array(z.string()),
      hasPrice: z.boolean().default(true),
    }),
  ),
});

interface Quote {
  amountMinor: bigint;
  firings: { firing: Firing; price: Price }[];
}

/** Keeps what pieces that were just registered or put right are said to cost by today's price list; without one, nothing. */
export async function keepQuotes(act: Act, pieces: { id: number; piece: PieceToQuote }[]): Promise<void> {
  const tariff = await tariffOn(act, await studioDay(act));
  if (!tariff || pieces.length === 0) return;
  const quotes = await quotesFor(
    act,
    tariff,
    pieces.map(({ piece }) => piece),
  );
  await insertQuotes(
    act.tx,
    pieces.flatMap(({ id }, i) => {
      const quote = quotes[i];
      if (!quote || quote.firings.length === 0) return [];
      const payload: z.input<typeof quoted> = {
        firings: quote.firings.map(({ firing, price }) => ({
          ...firing,
          amountMinor: Number(price.amountMinor),
          because: price.because,
          hasPrice: price.line !== null,
        })),
      };
      return [{ pieceId: id, tariffId: tariff.id, amountMinor: quote.amountMinor, payload, at: act.now }];
    }),
  );
}

/** What pieces would cost, each through all its firings. */
async function quotesFor(
  read: Read,
  { value }: TariffNow,
  pieces: readonly PieceToQuote[],
): Promise<Quote[]> {
  const { currency, timeZone, usualClass } = await settingOf(read);
  const holders = pieces.map(({ payer }): Holder => payer ?? { kind: 'person', id: read.actor.id });
  const known = await findPayers(read, holders);
  const classOf = ({ kind, id }: Holder) =>
    known.find((one) => (kind === 'person' ? one.personId : one.groupId) === id)?.memberClass ?? usualClass;
  const quotes = pieces.map((): Quote => ({ amountMinor: 0n, firings: [] }));
  const most = Math.max(0, ...pieces.map(({ firings }) => firings.length));
  for (let at = 0; at < most; at++) {
    const here = pieces.flatMap((piece, i) => {
      const firing = piece.firings[at];
      return firing ? [{ i, piece, firing, holder: holders[i] as Holder }] : [];
    });
    // Pieces of one payer go into the kiln together: where half shelves are the price they share them.
    for (const theirs of groupBy(here, ({ holder: { kind, id } }) => `${kind} ${id}`).values()) {
      const prices = quotePieces(
        value,
        currency,
        theirs.map(
          ({ piece: { widthMm, depthMm, heightMm, kg, wantedBy, registeredAt }, firing, holder }) => ({
            widthMm,
            depthMm,
            heightMm,
            kg,
            ...firing,
            isRush: isRush(value, wantedBy, toWallTime(registeredAt ?? read.now, timeZone).slice(0, 10)),
            memberClass: classOf(holder),
          }),
        ),
      ).map(chargeable);
      for (const [j, { i, firing }] of theirs.entries()) {
        const quote = quotes[i] as Quote;
        const price = prices[j] as Price;
        quote.firings.push({ firing, price });
        quote.amountMinor += price.amountMinor;
      }
    }
  }
  return quotes;
}

/** What pieces like these would cost by today's list, before they are registered; null where no list is in force. */
export async function previewQuote(read: Read, piece: PieceToQuote, count = 1): Promise<PieceFees | null> {
  const tariff = await tariffOn(read, await studioDay(read));
  if (!tariff) return null;
  const { currency } = await settingOf(read);
  const quotes = await quotesFor(
    read,
    tariff,
    Array.from({ length: count }, () => piece),
  );
  const [first] = quotes;
  if (!first || first.firings.length === 0) return null;
  const all = quotes.reduce((sum, { amountMinor }) => sum + amountMinor, 0n);
  const isPriced = first.firings.some(({ price }) => price.line !== null);
  const together = !isPriced
    ? 'The price list has no price for it'
    : count === 1
      ? `About ${moneyText(all, currency)}`
      : `About ${moneyText(all, currency)} for all ${count}: ${moneyText(first.amountMinor, currency)} each`;
  return {
    line: together,
    steps: [
      ...first.firings.map(({ firing, price }) => ({
        words: priceWords(firing, price.amountMinor, price.line === null, currency),
        because: price.because,
        href: null,
      })),
      ...(await includedStep(read, tariff, piece)),
    ],
    href: '/fees/prices',
  };
}

export const hasPrices = async (read: Read): Promise<boolean> =>
  (await tariffOn(read, await studioDay(read))) !== null;

/** Litres that are left and would pay for a part. */
async function includedStep(
  read: Read,
  { value }: TariffNow,
  { payer }: PieceToQuote,
): Promise<PieceFees['steps']> {
  const left = await leftFor(read, value, payer ?? { kind: 'person', id: read.actor.id });
  return left === 0
    ? []
    : [{ words: `Included litres left: ${litresText(left)}. They are used first.`, because: [], href: null }];
}

async function leftFor(read: Read, value: TariffNow['value'], holder: Holder): Promise<number> {
  const [payer] = await findPayers(read, [holder]);
  if (!payer) return monthlyCm3(value, (await settingOf(read)).usualClass);
  const { monthCm3, grants } = await litresLeft(read, payer);
  return grants.reduce((sum, { leftCm3 }) => sum + leftCm3, monthCm3);
}

const priceWords = (firing: Firing, minor: bigint, isUnpriced: boolean, currency: string): string =>
  `${upper(firingWords(firing))}: ${isUnpriced ? 'no price' : moneyText(minor, currency)}`;

function spentWords(cost: bigint, isCredited: boolean, currency: string): string {
  if (cost !== 0n) return `It has cost ${moneyText(cost, currency)} so far`;
  return isCredited ? 'What it cost was given back' : 'Nothing to pay for it so far: its firing was included';
}

/** What a piece was said to cost and what it has cost so far; null where neither is known. */
export async function quoteShown(read: Read, pieceId: number): Promise<PieceFees | null> {
  const [{ currency }, [quote], charges] = await Promise.all([
    settingOf(read),
    quotesOf(read.tx, pieceId),
    chargesOfPieces(read.tx, [pieceId]),
  ]);
  if (!quote && charges.length === 0) return null;
  const standing = charges.filter(({ struckBy }) => struckBy === null);
  const credits = await creditsOf(
    read.tx,
    standing.map(({ id }) => id),
  );
  const credited = (id: number) =>
    credits.flatMap(({ about, amountMinor }) => (about === id ? [amountMinor] : []));
  const cost = [...standing, ...credits].reduce((sum, { amountMinor }) => sum + amountMinor, 0n);
  const ahead = quote ? quoted.parse(quote.payload).firings : [];
  const spent = standing.length > 0 && spentWords(cost, credits.length > 0, currency);
  const said =
    quote &&
    (ahead.some(({ hasPrice }) => hasPrice)
      ? `${spent ? 'said before: about' : 'Firing it costs about'} ${moneyText(quote.amountMinor, currency)} by price list ${quote.tariffNumber}`
      : `${spent ? 'said before: no price' : 'There is no price for it'} on price list ${quote.tariffNumber}`);
  return {
    line: [spent, said].filter(Boolean).join('; '),
    steps: [
      ...standing.map((charge) => {
        const back = credited(charge.id).reduce((sum, minor) => sum - minor, 0n);
        const words = `Load ${charge.load}, ${charge.firingKind} cone ${charge.cone}: ${moneyText(charge.amountMinor, currency)}`;
        return {
          words: back === 0n ? words : `${words}, credited ${moneyText(back, currency)}`,
          because: fromStored(charge.payload).because,
          href: charge.load === null ? null : `/fees/loads/${charge.load}`,
        };
      }),
      ...ahead.map(({ amountMinor, because, hasPrice, ...firing }) => ({
        words: `Said: ${priceWords(firing, BigInt(amountMinor), !hasPrice, currency)}`,
        because,
        href: null,
      })),
    ],
    href: quote ? `/fees/prices/${quote.tariffNumber}` : null,
  };
}
