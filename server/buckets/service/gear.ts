import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { unlessTaken } from '../../core/database.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { choice, code, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Cup, Instrument } from '../kinds.ts';
import * as store from '../store/gear.ts';

/** A cup weighed empty and full of water to the brim, once. */
export const cupBody = z.strictObject({
  code: code(),
  name: text(60),
  tareG: quantity(0, 20_000, 'g'),
  waterG: quantity(1, 50_000, 'g'),
  waterC: quantity(0, 40, '°C').default(20),
  resolutionG: quantity(0.001, 100, 'g').default(1),
});

const named = { code: code(), name: text(60) };

/** What readings are taken with: a scale by its steps, a hydrometer by its scale and division, a flow cup. */
export const instrumentBody = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('scale'), ...named, resolutionG: quantity(0.001, 100, 'g') }),
  z.strictObject({
    kind: z.literal('hydrometer'),
    ...named,
    scale: choice(['sg', 'twaddell', 'baume']).default('sg'),
    division: quantity(0.0001, 10),
  }),
  z.strictObject({ kind: z.literal('flow-cup'), ...named }),
]);

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
  await withFreeCode('cup', () => store.insertCup(act.tx, cup));
  await record(act, 'cup.add', `cup:${cup.code}`);
  return cup;
}

export async function retireCup(act: Act, code: string): Promise<void> {
  mustBeAllowed(act.actor, 'gear.edit');
  if (!isGearCode(code) || !(await store.retireCup(act.tx, code, act.now)))
    throw new NotFound('There is no such cup.');
  await record(act, 'cup.retire', `cup:${code}`);
}

export async function listCups(read: Read): Promise<(Cup & { name: string })[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  return store.listCups(read.tx);
}

export async function addInstrument(act: Act, body: z.output<typeof instrumentBody>): Promise<Instrument> {
  mustBeAllowed(act.actor, 'gear.edit');
  const instrument = { resolutionG: null, scale: null, division: null, ...body };
  await withFreeCode('instrument', () => store.insertInstrument(act.tx, instrument));
  await record(act, 'instrument.add', `instrument:${body.code}`, { kind: body.kind });
  return instrument;
}

export async function retireInstrument(act: Act, code: string): Promise<void> {
  mustBeAllowed(act.actor, 'gear.edit');
  if (!isGearCode(code) || !(await store.retireInstrument(act.tx, code, act.now)))
    throw new NotFound('There is no such instrument.');
  await record(act, 'instrument.retire', `instrument:${code}`);
}

/** Scales, hydrometers and flow cups in use. */
export async function listInstruments(read: Read): Promise<Instrument[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  return store.listInstruments(read.tx);
}

/** Inserts gear; a code that is taken is said beside its field. */
export const withFreeCode = (what: string, insert: () => Promise<void>): Promise<void> =>
  unlessTaken(
    insert(),
    new Invalid([{ path: 'code', message: `Another ${what} has this code, perhaps a retired one.` }]),
  );

/** What cannot be a code is asked of no database. */
export const isGearCode = (typed: string): boolean => code().safeParse(typed).success;
