import type { Act } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import type { Firing } from '../../ware/firing.ts';

/** A load that has just been emptied, for whoever charges for it. */
export interface EmptiedLoad {
  number: number;
  kilnId: number;
  firing: Firing;
  /** When it was fired: the price list of that day counts. */
  firedAt: Instant;
  emptiedAt: Instant;
  power: 'electric' | 'gas';
  /** As its schedule and its kiln are expected to draw; null where that is not known. */
  kWh: number | null;
  pieces: { number: number; isStudiosFault: boolean }[];
}

interface FeeGate {
  /** Charges for a load as it is emptied. */
  emptied(act: Act, load: EmptiedLoad): Promise<void>;
  /** Somebody said later whose doing it was that a piece came out ruined. */
  judged(act: Act, load: number, piece: { number: number; isStudiosFault: boolean }): Promise<void>;
}

let gate: FeeGate = { emptied: async () => {}, judged: async () => {} };

/** Fees stand to the right of the kilns; the app tells here how they answer. */
export const fillLoadFees = (filled: FeeGate): void => {
  gate = filled;
};

export const loadFees = (): FeeGate => gate;
