import type { Act, Read } from '../../core/actor.ts';
import type { Atmosphere, FiringKind } from '../firing.ts';
import type { Holder } from './now.ts';

/** A piece as its price depends on it. */
export interface PieceToQuote {
  /** Of its bounding box as it was registered; a circle is as wide as it is deep. */
  widthMm: number;
  depthMm: number;
  heightMm: number;
  kg: number | null;
  /** The firings that it has still to go through, in their order. */
  firings: { kind: FiringKind; cone: string; atmosphere: Atmosphere }[];
  wantedBy: string | null;
  /** Null: whoever asks. */
  payer: Holder | null;
}

/** What a piece is said to cost. */
export interface PieceFees {
  /** 'Firing about £4.20', or what it has cost so far; '' where no price list is in force. */
  line: string;
  /** Firing by firing, with the arithmetic. */
  because: string[];
  href: string | null;
}

interface FeeGate {
  /** Keeps what pieces are said to cost, as they were registered or put right. */
  quoted(act: Act, pieces: { id: number; piece: PieceToQuote }[]): Promise<void>;
  /** What a piece like this would cost, before it is registered. */
  preview(read: Read, piece: PieceToQuote): Promise<PieceFees | null>;
  /** What a piece costs, for whoever may see it. */
  shown(read: Read, pieceId: number): Promise<PieceFees | null>;
  /** It was lost here: what its firings cost is given back where that was the studio's doing. */
  lost(act: Act, pieces: { id: number; number: number }[]): Promise<void>;
}

let gate: FeeGate = {
  quoted: async () => {},
  preview: async () => null,
  shown: async () => null,
  lost: async () => {},
};

/** Fees stand to the right of ware; the app tells here how they answer. */
export const fillPieceFees = (filled: FeeGate): void => {
  gate = filled;
};

export const pieceFees = (): FeeGate => gate;
