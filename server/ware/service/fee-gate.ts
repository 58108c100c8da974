import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import type { Atmosphere, FiringKind } from '../firing.ts';

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
  /** Null: about to be. */
  registeredAt: Instant | null;
  /** Null: whoever asks. */
  payer: { kind: 'person' | 'group'; id: number } | null;
}

/** What a piece is said to cost. */
export interface PieceFees {
  /** 'Firing about £4.20', or what it has cost so far; '' where no price list is in force. */
  line: string;
  /** Firing by firing, each with its arithmetic and where more is said of it. */
  steps: { words: string; because: string[]; href: string | null }[];
  /** The price list. */
  href: string | null;
}

interface FeeGate {
  /** Keeps what pieces are said to cost, as they were registered or put right. */
  quoted(act: Act, pieces: { id: number; piece: PieceToQuote }[]): Promise<void>;
  /** What so many pieces like this would cost, before they are registered. */
  preview(read: Read, piece: PieceToQuote, count: number): Promise<PieceFees | null>;
  /** Whether a price list is in force today. */
  hasPrices(read: Read): Promise<boolean>;
  /** What a piece costs, for whoever may see it. */
  shown(read: Read, pieceId: number): Promise<PieceFees | null>;
  /** Lost here by the studio's doing: what their firings cost is given back. */
  lost(act: Act, pieces: { id: number; number: number }[]): Promise<void>;
  /** Lost ones are here again: nothing is given back. */
  foundAgain(act: Act, pieces: { id: number; number: number }[]): Promise<void>;
}

let gate: FeeGate = {
  quoted: async () => {},
  preview: async () => null,
  shown: async () => null,
  hasPrices: async () => false,
  lost: async () => {},
  foundAgain: async () => {},
};

/** Fees stand to the right of ware; the app tells here how they answer. */
export const fillPieceFees = (filled: FeeGate): void => {
  gate = filled;
};

export const pieceFees = (): FeeGate => gate;
