import { WATER_20 } from '../server/buckets/gravity.ts';
import type { Problem } from '../server/buckets/problems.ts';
import { recordAct, voidEvent } from '../server/buckets/service/index.ts';
import type { Act } from '../server/core/actor.ts';

/** What somebody does at a bucket, through the use case that a page would call. */
export type Deed = (act: Act, code: string) => Promise<unknown>;

export const CUPS = {
  cup: { code: 'C1', name: 'Enamel cup', tareG: 48, waterG: 153, waterC: 20, resolutionG: 1 },
  jug: { code: 'C2', name: 'Half-litre jug', tareG: 212, waterG: 711, waterC: 18, resolutionG: 1 },
};

export const setUp =
  (litres: number, specificGravity: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'setup', { litres, specificGravity });

/** The scale shows whole grams: what is recorded is the gravity to the nearest of them. */
const weigh =
  ({ code: vessel, tareG, waterG }: (typeof CUPS)['cup'], sg: number, stirred: boolean): Deed =>
  (act, code) => {
    const grams = Math.round(tareG + ((waterG - tareG) * sg) / WATER_20);
    return recordAct(act, code, 'readings', { method: 'weighed', vessel, grams, stirred, confirm: true });
  };

export const cup = (sg: number): Deed => weigh(CUPS.cup, sg, true);
export const jug = (sg: number): Deed => weigh(CUPS.jug, sg, true);
export const cupUnstirred = (sg: number): Deed => weigh(CUPS.cup, sg, false);

export const hydrometer =
  (sg: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'readings', {
      method: 'hydrometer',
      scale: 'sg',
      value: Number(sg.toFixed(2)),
      stirred: true,
      confirm: true,
    });

/** The studio's float, once rising and once sinking. */
export const float =
  (rising: number, sinking: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'readings', {
      method: 'float',
      float: 'F1',
      millimetres: rising,
      replicates: [sinking],
      stirred: true,
      confirm: true,
    });

export const water =
  (litres: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'top-ups', { kind: 'water', litres });

export const rinse =
  (litres: number, specificGravity: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'top-ups', { kind: 'rinse', litres, specificGravity, note: 'Sieved, 80 mesh.' });

export const level =
  (litres: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'levels', { litres });

export const dip =
  (sizes: { cups?: number; bowls?: number; large?: number }): Deed =>
  (act, code) =>
    recordAct(act, code, 'dippings', { ...sizes, stirred: true });

export const sharedRinse =
  (litres: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'top-ups', { kind: 'rinse', litres, note: 'From the shared rinse bucket, sieved.' });

export const flow =
  (seconds: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'flows', { seconds, cup: 'V1' });

/** SG at the top just stirred, and untouched ten minutes later. */
export const settle =
  (fresh: number, later: number): Deed =>
  (act, code) =>
    recordAct(act, code, 'settlings', { fresh, later, minutes: 10 });

export const stir: Deed = (act, code) => recordAct(act, code, 'stirs', {});
export const sieve: Deed = (act, code) => recordAct(act, code, 'sievings', {});

export const problem =
  (what: Problem, note: string): Deed =>
  (act, code) =>
    recordAct(act, code, 'problems', { problem: what, note });

export const retire =
  (reason: string): Deed =>
  (act, code) =>
    recordAct(act, code, 'service', { state: 'retired', reason });

/** A reading with a slip of the pen, struck out at once. */
export const misreadThenVoid =
  (wrong: number, reason: string): Deed =>
  async (act, code) => {
    const { event } = await recordAct(act, code, 'readings', {
      method: 'hydrometer',
      scale: 'sg',
      value: wrong,
      stirred: true,
      confirm: true,
    });
    await voidEvent(act, code, event.number, reason);
  };
