import type { Read } from '../../core/actor.ts';
import { studioDay } from '../../core/session.ts';
import { type LitresLeft, monthlyCm3 } from '../litres.ts';
import { litresOf, usedInMonth } from '../store/litres.ts';
import type { Payer } from './ledger.ts';
import { feeSettings } from './settings.ts';
import { tariffOn } from './tariffs.ts';

/** Litres of firing that an account has left today: of the price list's monthly ones, and bought. */
export async function litresLeft(
  read: Read,
  { id, memberClass }: Pick<Payer, 'id' | 'memberClass'>,
): Promise<LitresLeft> {
  const today = await studioDay(read);
  const [list, grants, used, { classes }] = await Promise.all([
    tariffOn(read, today),
    litresOf(read, id),
    usedInMonth(read.tx, id, today.slice(0, 7)),
    feeSettings(read),
  ]);
  const free = list ? monthlyCm3(list.value, memberClass ?? classes[0] ?? null) : 0;
  return { monthCm3: Math.max(0, free - used), grants };
}
