import type { z } from 'zod';
import type { Typed } from '../core/forms.ts';
import { fromLitres, type UnitSystem } from '../core/units.ts';
import type { BucketCommand, BucketNow, bucketForm } from './service/index.ts';

type Form = z.output<typeof bucketForm>;

/** What a new bucket's form begins with. */
export const NEW_BUCKET: Typed = {
  colour: '#8a8f98',
  stirIntervalMinutes: '5',
  readingTrustedHours: '168',
  sieveMesh: '80',
  mixMoreFraction: String(1 / 3),
};

/** A form as the use case takes it. A straight bucket's diameter is typed once. */
export function toCommand({ low, aim, high, flowLow, flowHigh, recipe, ...fields }: Form): {
  command: BucketCommand;
  recipe: number | undefined;
} {
  const topMm = fields.topMm ?? fields.bottomMm;
  const flow = { low: flowLow, high: flowHigh };
  return { command: { ...fields, topMm, flow, target: { low, aim, high } }, recipe };
}

/** A bucket as its form shows it. `newer`: whether its recipe has a later version than the bucket. */
export function typedFrom(bucket: BucketNow, units: UnitSystem, newer: boolean): Typed {
  const { cones, shape, target, facts } = bucket;
  return {
    code: bucket.code,
    name: bucket.name,
    colour: bucket.colour,
    place: bucket.place,
    capacityLitres: figure(fromLitres(bucket.capacityLitres, units)),
    bottomMm: figure(shape?.bottomMm),
    topMm: shape?.topMm === shape?.bottomMm ? '' : figure(shape?.topMm),
    heightMm: figure(shape?.heightMm),
    low: figure(target.low),
    aim: figure(target.aim),
    high: figure(target.high),
    recipe: newer ? '' : figure(facts.recipe?.id),
    coneFrom: cones?.from ?? '',
    coneTo: cones?.to === cones?.from ? '' : cones?.to,
    atmosphere: bucket.atmosphere ?? '',
    stirIntervalMinutes: figure(bucket.stirIntervalMinutes),
    readingTrustedHours: figure(bucket.readingTrustedHours),
    sieveMesh: figure(bucket.sieveMesh),
    careNotes: bucket.careNotes,
    rinseBucket: bucket.rinseBucket,
    flowLow: figure(bucket.flow?.low),
    flowHigh: figure(bucket.flow?.high),
    isReclaim: bucket.isReclaim ? 'yes' : 'no',
    mixMoreFraction: String(bucket.mixMoreFraction),
  };
}

/** As typed: without the last digits that arithmetic leaves. */
const figure = (value: number | undefined): string =>
  value === undefined ? '' : String(Number(value.toPrecision(9)));
