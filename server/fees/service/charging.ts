import type { Act } from '../../core/actor.ts';
import type { EmptiedLoad } from '../../kilns/service/fee-gate.ts';

export async function chargeLoad(_act: Act, _load: EmptiedLoad): Promise<void> {}

export async function creditLoss(
  _act: Act,
  _load: number,
  _piece: { number: number; isStudiosFault: boolean },
): Promise<void> {}
