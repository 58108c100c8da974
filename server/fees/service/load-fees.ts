import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { costMinor } from '../../kilns/energy.ts';
import { emptiedLoad, findLoad, kilnSettings } from '../../kilns/service/index.ts';
import type { Firing } from '../../ware/firing.ts';
import { findPieces, type PieceNow } from '../../ware/service/index.ts';
import { fromStored } from '../events.ts';
import type { Price } from '../price.ts';
import { chargesOfLoad, creditsOf } from '../store/charges.ts';
import { ownAccounts } from './accounts.ts';
import { listOfLoad, payerOf, priced } from './charging.ts';
import { feeSettings } from './settings.ts';

/** A piece of a load, with what its firing cost or why nothing was charged. */
export interface PieceCost {
  number: number;
  form: string;
  payer: string | null;
  /** Null: not charged, and `why` says why. */
  charge: {
    entry: number;
    account: number;
    accountName: string;
    line: string;
    cm3: number;
    coveredCm3: number;
    amountMinor: bigint;
    creditedMinor: bigint;
    isStruck: boolean;
    because: string[];
    list: number | null;
  } | null;
  why: string | null;
  isStudiosFault: boolean;
}

export interface LoadFees {
  number: number;
  kiln: { code: string; name: string };
  firing: Firing;
  firedAt: Instant;
  pieces: PieceCost[];
  /** By payer, what is charged and not given back. */
  payers: { account: number; name: string; pieces: number; minor: bigint }[];
  totalMinor: bigint;
  /** What the load took, as far as it is known; null for whoever sees only their own. */
  cost: { kWh: number | null; energyMinor: bigint | null; wearMinor: bigint | null } | null;
  /** Somebody may charge now what was not charged then. */
  mayCharge: boolean;
}

/**
 * What a load cost whom: everything for technicians, their own pieces for anybody else.
 * @throws NotFound where it is not emptied, or nothing in it concerns whoever asks
 */
export async function loadFees(read: Read, number: number): Promise<LoadFees> {
  mustBeAllowed(read.actor, 'fees.own');
  const seesAll = may(read.actor.role, 'fees.see-all');
  const load = await emptiedLoad(read, number);
  if (!load) throw new NotFound(`Load ${number} has not been emptied: nothing is charged yet.`);
  const [list, charges, found, mine, { kiln }] = await Promise.all([
    listOfLoad(read, load),
    chargesOfLoad(read.tx, number),
    findPieces(
      read,
      load.pieces.map((piece) => piece.number),
    ),
    ownAccounts(read),
    findLoad(read, number),
  ]);
  const credits = await creditsOf(
    read.tx,
    charges.map(({ id }) => id),
  );
  const ours = new Set(load.pieces.flatMap((one) => (one.isStudiosFault ? [one.number] : [])));
  const seen = found.flatMap((piece) => {
    const charge = charges.find(({ pieceId }) => pieceId === piece.id);
    const isOwn = piece.isMine || mine.some(({ id }) => id === charge?.accountId);
    return seesAll || isOwn ? [{ piece, charge }] : [];
  });
  if (seen.length === 0) throw new NotFound(`Nothing of yours was in load ${number}.`);
  const open = seen.some(({ charge }) => !charge) && list !== null;
  const now = open ? (await priced(read, load, list, found, new Map(), charges)).prices : new Map();
  const whyNot = (piece: PieceNow): string => {
    if (!list) return 'No price list was in force on the day it was fired.';
    if (payerOf(piece) === null) return 'Nobody is known to pay for it.';
    return unpriced(now.get(piece.id)) ?? 'Not charged when it was emptied.';
  };
  const rows = seen.map(
    ({ piece, charge }): PieceCost => ({
      number: piece.number,
      form: piece.form,
      payer: charge?.accountName ?? (piece.payer ?? piece.owner)?.name ?? null,
      charge: charge ? chargeOf(charge, credits) : null,
      why: charge ? null : whyNot(piece),
      isStudiosFault: ours.has(piece.number),
    }),
  );
  const payers = byPayer(rows);
  return {
    number,
    kiln: { code: kiln.code, name: kiln.name },
    firing: load.firing,
    firedAt: load.firedAt,
    pieces: rows,
    payers,
    totalMinor: payers.reduce((sum, { minor }) => sum + minor, 0n),
    cost: seesAll ? await costOf(read, kiln.code, load.kWh) : null,
    mayCharge:
      list !== null &&
      may(read.actor.role, 'fees.charge') &&
      seen.some(
        ({ piece, charge }) => !charge && payerOf(piece) !== null && unpriced(now.get(piece.id)) === null,
      ),
  };
}

type Charged = Awaited<ReturnType<typeof chargesOfLoad>>[number];

function chargeOf(
  charge: Charged,
  credits: readonly { about: number | null; amountMinor: bigint }[],
): NonNullable<PieceCost['charge']> {
  const { name, coveredCm3, because } = fromStored(charge.payload);
  const own = credits.filter(({ about }) => about === charge.id);
  return {
    entry: charge.number,
    account: charge.accountNumber,
    accountName: charge.accountName,
    line: name ?? charge.line ?? '',
    cm3: charge.cm3 ?? 0,
    coveredCm3: coveredCm3 ?? 0,
    amountMinor: charge.amountMinor,
    creditedMinor: own.reduce((sum, { amountMinor }) => sum - amountMinor, 0n),
    isStruck: charge.struckBy !== null,
    because,
    list: charge.tariffNumber,
  };
}

/** What each payer is charged and not given back, by name. */
function byPayer(rows: readonly PieceCost[]): LoadFees['payers'] {
  const payers = new Map<number, LoadFees['payers'][number]>();
  for (const { charge } of rows) {
    if (!charge || charge.isStruck) continue;
    const { account, accountName: name } = charge;
    const { pieces, minor } = payers.get(account) ?? { pieces: 0, minor: 0n };
    payers.set(account, {
      account,
      name,
      pieces: pieces + 1,
      minor: minor + charge.amountMinor - charge.creditedMinor,
    });
  }
  return [...payers.values()].sort((a, b) => a.name.localeCompare(b.name));
}

/** Why a list has no price for a piece; null where it has one. */
const unpriced = (price: Price | undefined): string | null =>
  price && price.line === null ? (price.because[0] ?? null) : null;

async function costOf(read: Read, kiln: string, kWh: number | null): Promise<LoadFees['cost']> {
  const [{ pricePerKwh }, { wearMinor }] = await Promise.all([kilnSettings(read), feeSettings(read)]);
  const wear = wearMinor[kiln];
  return {
    kWh,
    energyMinor: kWh === null || pricePerKwh === null ? null : costMinor(kWh, pricePerKwh.toFixed(6)),
    wearMinor: wear === undefined ? null : BigInt(wear),
  };
}
