import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { code, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type Calibration, calibrate } from '../float.ts';
import * as store from '../store/gear.ts';
import { isGearCode, withFreeCode } from './gear.ts';

export type DatedCalibration = Calibration & { madeAt: Instant };

/** A float of the studio, with its newest calibration. */
export interface Float {
  code: string;
  name: string;
  calibration: DatedCalibration | null;
}

export type CalibratedFloat = Float & { calibration: DatedCalibration };

export const floatBody = z.strictObject({ code: code(), name: text(60) });

/** One pair: mm of the stem immersed, and the gravity found by weighing. Water makes a good thin end. */
export const markBody = z.strictObject({
  millimetres: quantity(0, 1000, 'mm'),
  specificGravity: quantity(0.99, 4),
});

export const MOST_MARKS = 20;
export const calibrationBody = z.strictObject({
  points: z
    .array(markBody, { error: 'A list of pairs.' })
    .min(2, 'At least two pairs.')
    .max(MOST_MARKS, `At most ${MOST_MARKS} pairs.`),
});

export async function addFloat(act: Act, body: z.output<typeof floatBody>): Promise<Float> {
  mustBeAllowed(act.actor, 'gear.edit');
  await withFreeCode('float', () => store.insertFloat(act.tx, body));
  await record(act, 'float.add', `float:${body.code}`);
  return { ...body, calibration: null };
}

/** A calibration that counts from now on; readings taken by an earlier one stay as they are. */
export async function calibrateFloat(
  act: Act,
  code: string,
  { points }: z.output<typeof calibrationBody>,
): Promise<DatedCalibration> {
  mustBeAllowed(act.actor, 'gear.edit');
  const float = await mustFind(act, code);
  const calibration = fitted(points);
  await store.insertCalibration(act.tx, {
    ...calibration,
    floatId: float.id,
    madeBy: act.actor.id,
    madeAt: act.now,
  });
  await record(act, 'float.calibrate', `float:${float.code}`, { pairs: points.length });
  return { ...calibration, madeAt: act.now };
}

export async function retireFloat(act: Act, code: string): Promise<void> {
  mustBeAllowed(act.actor, 'gear.edit');
  const float = await mustFind(act, code);
  await store.retireFloat(act.tx, code, act.now);
  await record(act, 'float.retire', `float:${float.code}`);
}

export async function findFloat(read: Read, code: string): Promise<Float> {
  mustBeAllowed(read.actor, 'buckets.see');
  return mustFind(read, code);
}

export const isCalibrated = (float: Float): float is CalibratedFloat => float.calibration !== null;

/** Floats in use. */
export async function listFloats(read: Read): Promise<Float[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  return store.listFloats(read.tx);
}

async function mustFind({ tx }: Read, code: string): Promise<store.FloatRow> {
  const float = isGearCode(code) ? await store.findFloat(tx, code) : null;
  if (!float) throw new NotFound('There is no such float.');
  return float;
}

function fitted(points: Calibration['points']): Calibration {
  try {
    return calibrate(points);
  } catch (error) {
    if (error instanceof RangeError) throw new Invalid([{ path: 'points', message: error.message }]);
    throw error;
  }
}
