import type { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { firingsAhead } from '../next-firing.ts';
import { extentOf } from '../size.ts';
import { listClays } from './clays.ts';
import { columnsOf, type registerForm } from './describing.ts';
import { type PieceFees, type PieceToQuote, pieceFees } from './fee-gate.ts';
import { findPieces, type PieceNow } from './now.ts';
import { wareSettings } from './settings.ts';

/** Keeps what these pieces are said to cost from now on; they were just registered, or are for another firing now. */
export async function keepPrices(act: Act, numbers: readonly number[]): Promise<void> {
  const [pieces, settings] = await Promise.all([findPieces(act, numbers), wareSettings(act)]);
  await pieceFees().quoted(
    act,
    pieces.map((piece) => ({
      id: piece.id,
      piece: toQuote(piece, firingsAhead(piece, piece.clay, settings)),
    })),
  );
}

const toQuote = (piece: PieceNow, firings: PieceToQuote['firings']): PieceToQuote => ({
  ...extentOf(piece.measured.footprint),
  heightMm: piece.measured.heightMm,
  kg: piece.kg,
  firings,
  wantedBy: piece.wantedBy,
  registeredAt: piece.registeredAt,
  payer: piece.payer ?? piece.owner,
});

/** Whether anything is charged here today: without a price list nobody asks for a price. */
export async function hasPrices(read: Read): Promise<boolean> {
  mustBeAllowed(read.actor, 'ware.own');
  return pieceFees().hasPrices(read);
}

/**
 * What pieces would cost that are described so, before they are registered; null where no price list is in force.
 * @throws Invalid as registering them would
 */
export async function previewPrice(
  read: Read,
  command: z.output<typeof registerForm>,
): Promise<PieceFees | null> {
  mustBeAllowed(read.actor, 'ware.own');
  const { begins, howMany, once = false } = command;
  const columns = await columnsOf(read, command, begins, []);
  const { widthMm, depthMm, heightMm, kg = null, wantedBy = null, kind, cone, atmosphere } = columns;
  const [clays, settings] = await Promise.all([listClays(read), wareSettings(read)]);
  const clay = clays.find(({ id }) => id === columns.clayId) ?? null;
  const final = { kind, cone, atmosphere };
  const isBisqued = begins === 'bisqued';
  const firings = firingsAhead({ stage: 'made', isBisqued, isOnce: once, final }, clay, settings);
  const { payerId, payerGroupId } = columns;
  const payer =
    typeof payerId === 'number'
      ? ({ kind: 'person', id: payerId } as const)
      : typeof payerGroupId === 'number'
        ? ({ kind: 'group', id: payerGroupId } as const)
        : null;
  return pieceFees().preview(
    read,
    { widthMm, depthMm, heightMm, kg, firings, wantedBy, registeredAt: null, payer },
    howMany,
  );
}

/** What a piece was said to cost and has cost, for whoever may see it; null where nothing is known. */
export async function feesOfPiece(read: Read, { id }: Pick<PieceNow, 'id'>): Promise<PieceFees | null> {
  mustBeAllowed(read.actor, 'ware.own');
  return pieceFees().shown(read, id);
}
