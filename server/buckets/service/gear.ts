import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { databaseError } from '../../core/database.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { code, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Cup } from '../kinds.ts';
import * as store from '../store.ts';

/** A cup weighed empty and full of water to the brim, once. */
export const cupBody = z.strictObject({
  code: code(),
  name: text(60),
  tareG: quantity(0, 20_000, 'g'),
  waterG: quantity(1, 50_000, 'g'),
  waterC: quantity(0, 40, '°C').default(20),
  resolutionG: quantity(0.001, 100, 'g').default(1),
});

/** Smaller, and a gram more or less says nothing. */
const LEAST_WATER_G = 30;

export async function addCup(act: Act, cup: z.output<typeof cupBody>): Promise<z.output<typeof cupBody>> {
  mustBeAllowed(act.actor, 'gear.edit');
  if (cup.waterG - cup.tareG < LEAST_WATER_G)
    throw new Invalid([
      {
        path: 'waterG',
        message: `Cup and water together: at least ${LEAST_WATER_G} g more than the cup alone.`,
      },
    ]);
  try {
    await store.insertCup(act.tx, cup);
  } catch (error) {
    if (databaseError(error)?.code !== '23505') throw error;
    throw new Invalid([{ path: 'code', message: 'Another cup has this code, perhaps a retired one.' }]);
  }
  await record(act, 'cup.add', `cup:${cup.code}`);
  return cup;
}

export async function retireCup(act: Act, code: string): Promise<void> {
  mustBeAllowed(act.actor, 'gear.edit');
  if (!(await store.retireCup(act.tx, code, act.now))) throw new NotFound('There is no such cup.');
  await record(act, 'cup.retire', `cup:${code}`);
}

export async function listCups(read: Read): Promise<(Cup & { name: string })[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  return store.listCups(read.tx);
}
