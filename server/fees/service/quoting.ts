import type { Act, Read } from '../../core/actor.ts';
import type { PieceFees, PieceToQuote } from '../../ware/service/fee-gate.ts';

export async function keepQuotes(_act: Act, _pieces: { id: number; piece: PieceToQuote }[]): Promise<void> {}

export async function previewQuote(_read: Read, _piece: PieceToQuote): Promise<PieceFees | null> {
  return null;
}

export async function quoteShown(_read: Read, _pieceId: number): Promise<PieceFees | null> {
  return null;
}

export async function creditLost(_act: Act, _pieces: { id: number; number: number }[]): Promise<void> {}
