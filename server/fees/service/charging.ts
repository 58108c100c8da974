import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict } from '../../core/errors.ts';
import { tell } from '../../core/messages.ts';
import { moneyText, times } from '../../core/money.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone, theStudio } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import type { EmptiedLoad } from '../../kilns/service/fee-gate.ts';
import { emptiedLoad } from '../../kilns/service/index.ts';
import { groupBy } from '../../ware/group.ts';
import { findPieces, type PieceNow } from '../../ware/service/index.ts';
import { fromStored, pricedBy } from '../events.ts';
import { drawLitres, type LitreUse, litresBack, monthlyCm3 } from '../litres.ts';
import { boxOf, isRush } from '../piece-price.ts';
import { chargeable, type Price, priceLoad } from '../price.ts';
import { type ChargeRow, chargesOfLoad, chargesOfPieces, creditsOf } from '../store/charges.ts';
import { lockBooks } from '../store/ledger.ts';
import { insertUses, litresOf, returnLitres, usedInMonth, usesOf } from '../store/litres.ts';
import { tariffByNumber } from '../store/tariffs.ts';
import { readersOfAccount } from './accounts.ts';
import { findPayers, type Holder, type NewEntry, type Payer, payersFor, post, strikeOut } from './ledger.ts';
import { feeSettings } from './settings.ts';
import { type TariffNow, tariffOn } from './tariffs.ts';

/** Whoever pays for a piece: who was named when it was registered, else whose it is. */
export const payerOf = ({ payer, owner }: Pick<PieceNow, 'payer' | 'owner'>): Holder | null => payer ?? owner;

/** The price list of the day a load was fired, whenever it was emptied; null where none was in force. */
export const listOfLoad = async (read: Read, { firedAt }: EmptiedLoad): Promise<TariffNow | null> =>
  tariffOn(read, toWallTime(firedAt, await studioTimeZone(read.tx)).slice(0, 10));

/**
 * Charges every piece of a load as it is emptied, once, and gives back what the studio ruined. A piece that is fired
 * again is charged again, whoever's doing that was: what the studio ruined was credited already.
 */
export async function chargeLoad(act: Act, load: EmptiedLoad): Promise<void> {
  await charge(act, load, load.emptiedAt);
}

/**
 * Charges what of a load was not charged when it was emptied, since no price list was in force or nobody was known to
 * pay, and answers how many pieces.
 * @throws NotFound; Conflict before it is emptied, and where there is still nothing to charge
 */
export async function chargeRest(act: Act, number: number): Promise<number> {
  mustBeAllowed(act.actor, 'fees.charge');
  const load = await emptiedLoad(act, number);
  if (!load) throw new Conflict(`Load ${number} is not emptied yet.`);
  if (!(await listOfLoad(act, load)))
    throw new Conflict('No price list was in force on the day it was fired.');
  const charged = await charge(act, load, act.now);
  if (charged === 0)
    throw new Conflict('There is nothing left to charge: everything is charged, or has no payer.');
  return charged;
}

async function charge(act: Act, load: EmptiedLoad, happenedAt: Instant): Promise<number> {
  const tariff = await listOfLoad(act, load);
  if (!tariff) return 0;
  // Whoever charges the same load, or another one of the same payer, comes after this.
  await lockBooks(act.tx);
  const done = await chargesOfLoad(act.tx, load.number);
  const pieces = await findPieces(
    act,
    load.pieces.map(({ number }) => number),
  );
  const isDone = (piece: PieceNow) => done.some(({ pieceId }) => pieceId === piece.id);
  const payable = pieces.filter((piece) => payerOf(piece) !== null && !isDone(piece));
  if (payable.length === 0) return 0;
  const payers = await payersFor(
    act,
    payable.map((piece) => payerOf(piece) as Holder),
  );
  const payerByPiece = new Map(payable.map((piece, i) => [piece.id, payers[i] as Payer]));
  const { prices, uses } = await priced(act, load, tariff, pieces, payerByPiece, done);
  const { usualClass } = await settingOf(act);
  // What the list has no price for stays uncharged, and the page of the load says so.
  const due = payable.filter((piece) => prices.get(piece.id)?.line);
  const posted = await post(
    act,
    due.map((piece): NewEntry => {
      const price = prices.get(piece.id) as Price;
      const payer = payerByPiece.get(piece.id) as Payer;
      return {
        kind: 'firing',
        accountId: payer.id,
        against: 'income:firing',
        netMinor: price.netMinor,
        taxMinor: price.taxMinor,
        happenedAt,
        pieceId: piece.id,
        load: load.number,
        kilnId: load.kilnId,
        firingKind: load.firing.kind,
        cone: load.firing.cone,
        tariffId: tariff.id,
        line: price.line?.code,
        cm3: price.cm3,
        payload: {
          name: price.line?.name,
          because: price.because,
          coveredCm3: price.coveredCm3,
          ...boxOf(piece.measured),
          memberClass: payer.memberClass ?? usualClass ?? undefined,
        },
      };
    }),
  );
  const period = await monthFired(act, load);
  await insertUses(
    act.tx,
    due.map((piece, i) => ({
      accountId: (payerByPiece.get(piece.id) as Payer).id,
      entryId: (posted[i] as { id: number }).id,
      period,
      at: act.now,
      uses: uses.get(piece.id) ?? [],
    })),
  );
  const back = new Map<number, bigint>();
  for (const piece of due)
    if (load.pieces.some(({ number, isStudiosFault }) => isStudiosFault && number === piece.number))
      back.set(piece.id, await creditFor(act, piece, load.number));
  await tellPayers(
    act,
    load,
    due.map((piece) => ({
      payer: payerByPiece.get(piece.id) as Payer,
      minor: (prices.get(piece.id) as Price).amountMinor - (back.get(piece.id) ?? 0n),
    })),
  );
  return due.length;
}

/**
 * What every piece of a load costs, and which included litres pay for a part of it.
 * @param payers of those that are about to be charged, by the piece's id
 * @param done what was charged of the load before
 */
export async function priced(
  read: Read,
  load: EmptiedLoad,
  { value }: TariffNow,
  pieces: readonly PieceNow[],
  payers: ReadonlyMap<number, Payer>,
  done: readonly ChargeRow[],
): Promise<{ prices: Map<number, Price>; uses: Map<number, LitreUse[]> }> {
  const { currency, timeZone, usualClass } = await settingOf(read);
  const known = await findPayers(
    read,
    pieces.flatMap((piece) => payerOf(piece) ?? []),
  );
  const before = (piece: PieceNow) => done.find(({ pieceId }) => pieceId === piece.id);
  const payerFor = (piece: PieceNow): Payer | undefined => {
    const holder = payerOf(piece);
    return (
      payers.get(piece.id) ??
      known.find((one) => (holder?.kind === 'person' ? one.personId : one.groupId) === holder?.id)
    );
  };
  const asked = pieces.map((piece) => {
    const payer = payerFor(piece);
    return {
      ...boxOf(piece.measured),
      kg: piece.kg,
      ...load.firing,
      isRush: isRush(value, piece.wantedBy, toWallTime(piece.registeredAt, timeZone).slice(0, 10)),
      memberClass: payer?.memberClass ?? usualClass,
      payer: payer ? `account ${payer.id}` : `piece ${piece.number}`,
      includedCm3: fromStored(before(piece)?.payload ?? { against: '' }).coveredCm3 ?? 0,
    };
  });
  const { kWh, power } = load;
  // Without included litres first: they are taken only for what costs anything.
  const whole = priceLoad(value, currency, asked, { kWh, power }).map(chargeable);
  const period = await monthFired(read, load);
  const uses = new Map<number, LitreUse[]>();
  const left = new Map<number, Parameters<typeof drawLitres>[0]>();
  for (const [i, piece] of pieces.entries()) {
    const payer = payers.get(piece.id);
    const one = asked[i];
    const price = whole[i];
    if (!payer || !one || !price || price.amountMinor <= 0n) continue;
    const drawn = drawLitres(
      left.get(payer.id) ?? {
        monthCm3:
          monthlyCm3(value, payer.memberClass ?? usualClass) - (await usedInMonth(read.tx, payer.id, period)),
        grants: await litresOf(read, payer.id),
      },
      price.cm3,
    );
    left.set(payer.id, drawn.left);
    uses.set(piece.id, drawn.uses);
    one.includedCm3 = drawn.coveredCm3;
  }
  const prices = priceLoad(value, currency, asked, { kWh, power }).map(chargeable);
  return { prices: new Map(pieces.map((piece, i) => [piece.id, prices[i] as Price])), uses };
}

/**
 * What the studio ruined is credited by the price list that the firing was charged by; said otherwise later, the credit
 * is struck out. A firing is never credited twice.
 */
export async function creditLoss(
  act: Act,
  load: number,
  { number, isStudiosFault }: { number: number; isStudiosFault: boolean },
): Promise<void> {
  mustBeAllowed(act.actor, 'fees.credit');
  await lockBooks(act.tx);
  const [piece] = await findPieces(act, [number]);
  if (!piece) return;
  if (isStudiosFault) {
    await creditFor(act, piece, load);
    return;
  }
  const charges = await chargesOfPieces(act.tx, [piece.id]);
  const credits = await creditsOf(
    act.tx,
    charges.map(({ id }) => id),
  );
  await strikeAll(
    act,
    credits.filter((one) => one.kind === 'loss-credit' && one.load === load),
    'It was not the doing of the studio after all.',
  );
}

async function strikeAll(act: Act, credits: readonly ChargeRow[], why: string): Promise<void> {
  for (const credit of credits) {
    await strikeOut(act, credit, why);
    await returnLitres(act, credit.id);
  }
}

/** Pieces that were lost here by the studio's doing: what their firings cost is given back. */
export async function creditLost(act: Act, pieces: { id: number; number: number }[]): Promise<void> {
  mustBeAllowed(act.actor, 'fees.credit');
  await lockBooks(act.tx);
  for (const piece of pieces) {
    const charges = await chargesOfPieces(act.tx, [piece.id]);
    const last = charges.findLast(({ struckBy }) => struckBy === null);
    if (last?.load) await creditFor(act, piece, last.load, true);
  }
}

/** Lost ones are here again: what was given back for that is struck out. */
export async function strikeLost(act: Act, pieces: { id: number; number: number }[]): Promise<void> {
  mustBeAllowed(act.actor, 'fees.credit');
  await lockBooks(act.tx);
  const charges = await chargesOfPieces(
    act.tx,
    pieces.map(({ id }) => id),
  );
  const credits = await creditsOf(
    act.tx,
    charges.map(({ id }) => id),
  );
  await strikeAll(
    act,
    credits.filter((one) => one.kind === 'loss-credit' && one.load === null),
    'It is here again.',
  );
}

/**
 * Credits the charge of one firing, or of all that the piece had, as the list says, as far as they stand and nothing
 * was given back of them for a loss.
 * @returns what was given back, above zero
 */
async function creditFor(act: Act, piece: { id: number }, load: number, isLost = false): Promise<bigint> {
  const all = (await chargesOfPieces(act.tx, [piece.id])).filter(({ struckBy }) => struckBy === null);
  const charge = all.find((one) => one.load === load);
  const list = charge?.tariffNumber ? await tariffByNumber(act.tx, charge.tariffNumber) : null;
  if (!charge || !list) return 0n;
  const { lossOf, lossPercent, rounding } = list.value;
  const charges = lossOf === 'every-firing' ? all : [charge];
  const credits = await creditsOf(
    act.tx,
    charges.map(({ id }) => id),
  );
  const share = [lossPercent, '0.01'];
  let given = 0n;
  for (const one of charges) {
    const before = credits.filter(({ about }) => about === one.id);
    if (before.some(({ kind }) => kind === 'loss-credit')) continue;
    // By hand, some of it may have been given back already: no more than the charge altogether.
    const rest = (name: 'amountMinor' | 'taxMinor') =>
      before.reduce((sum, credit) => sum + credit[name], one[name]);
    const least = (a: bigint, b: bigint) => (a < b ? a : b);
    const most = (minor: bigint) => (minor < 0n ? 0n : minor);
    const amount = least(times(one.amountMinor, share, rounding), most(rest('amountMinor')));
    const tax = least(least(times(one.taxMinor, share, rounding), most(rest('taxMinor'))), amount);
    const used = await usesOf(act.tx, [one.id]);
    const back = used.flatMap((use) =>
      litresBack([use], lossPercent).map((part) => ({ ...use, cm3: -part.cm3 })),
    );
    if (amount === 0n && back.length === 0) continue;
    const [posted] = await post(act, [
      {
        kind: 'loss-credit',
        accountId: one.accountId,
        against: 'relief:loss',
        netMinor: -(amount - tax),
        taxMinor: -tax,
        happenedAt: act.now,
        about: one.id,
        pieceId: piece.id,
        // Of what was lost on a shelf: of no load, so that finding it again takes back this one only.
        load: isLost ? undefined : load,
        kilnId: one.kilnId ?? undefined,
        firingKind: one.firingKind ?? undefined,
        cone: one.cone ?? undefined,
        tariffId: one.tariffId ?? undefined,
        line: one.line ?? undefined,
        payload: {
          name: isLost ? 'Lost by the doing of the studio' : 'Ruined by the doing of the studio',
          because: [`${lossPercent} % of entry ${one.number}`],
          ...pricedBy(fromStored(one.payload)),
        },
      },
    ]);
    for (const { accountId, period, ...use } of back)
      await insertUses(act.tx, [
        { accountId, period, entryId: (posted as { id: number }).id, at: act.now, uses: [use] },
      ]);
    given += amount;
  }
  return given;
}

/** Each payer once a load. */
async function tellPayers(
  act: Act,
  load: EmptiedLoad,
  charged: readonly { payer: Payer; minor: bigint }[],
): Promise<void> {
  const { currency } = await settingOf(act);
  for (const theirs of groupBy(charged, ({ payer }) => payer.id).values()) {
    const [{ payer }] = theirs;
    const minor = theirs.reduce((sum, one) => sum + one.minor, 0n);
    if (minor === 0n) continue;
    const count = `${theirs.length} ${theirs.length === 1 ? 'piece' : 'pieces'}`;
    await tell(act, {
      personIds: await readersOfAccount(act, payer),
      kind: 'fees',
      words: `Load ${load.number} is out: ${count}, ${moneyText(minor, currency)}${payer.groupId === null ? '' : `, for ${payer.name}`}.`,
      href: `/fees/loads/${load.number}`,
    });
  }
}

/** The month of the studio's calendar that a load was fired in: its free litres are used. */
const monthFired = async (read: Read, { firedAt }: EmptiedLoad): Promise<string> =>
  toWallTime(firedAt, await studioTimeZone(read.tx)).slice(0, 7);

/** What of the studio decides prices. */
export async function settingOf(
  read: Read,
): Promise<{ currency: string; timeZone: string; usualClass: string | null }> {
  const [{ currency, timeZone }, { classes }] = await Promise.all([theStudio(read.tx), feeSettings(read)]);
  return { currency, timeZone, usualClass: classes[0] ?? null };
}
