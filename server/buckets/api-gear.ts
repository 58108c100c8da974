import { z } from 'zod';
import { type Endpoint, read, write } from '../core/api.ts';
import { middleOf, mmPerHundredth, rangeOf, residualSg, warnings } from './float.ts';
import * as buckets from './service/index.ts';

const num = z.number();
const mark = z.object({ millimetres: num, specificGravity: num });

const calibrationAnswer = z.object({
  points: z.array(mark),
  intercept: num.meta({ description: '1/SG = intercept + slopePerMillimetre · mm' }),
  slopePerMillimetre: num,
  residual: num.nullable().meta({
    description: 'How far the pairs lie off their line: standard deviation in SG; null with two pairs',
  }),
  range: z.object({ low: num, high: num }).meta({ description: 'SG of the pairs; good for 0.05 more' }),
  millimetresPerHundredth: num.meta({ description: 'mm for 0.01 SG in the middle of the range' }),
  warnings: z.array(z.string()),
  calibratedAt: z.iso.datetime(),
});

const floatAnswer = z.object({
  code: z.string(),
  name: z.string(),
  calibration: calibrationAnswer.nullable(),
});

const instrumentAnswer = z.object({
  kind: z.enum(['scale', 'hydrometer', 'flow-cup']),
  code: z.string(),
  name: z.string(),
  resolutionG: num.nullable(),
  scale: z.enum(['sg', 'twaddell', 'baume']).nullable(),
  division: num.nullable(),
});

const calibrationJson = (calibration: buckets.DatedCalibration): z.input<typeof calibrationAnswer> => ({
  points: calibration.points,
  intercept: calibration.intercept,
  slopePerMillimetre: calibration.slopePerMm,
  residual: residualSg(calibration),
  range: rangeOf(calibration),
  millimetresPerHundredth: mmPerHundredth(calibration, middleOf(calibration)),
  warnings: warnings(calibration),
  calibratedAt: new Date(calibration.madeAt).toISOString(),
});

const floatJson = ({ code, name, calibration }: buckets.Float): z.input<typeof floatAnswer> => ({
  code,
  name,
  calibration: calibration && calibrationJson(calibration),
});

export const gearEndpoints: Endpoint[] = [
  write({
    path: '/vessels',
    permission: 'gear.edit',
    summary: 'A cup for brim-full weighings, calibrated once with water',
    body: buckets.cupBody,
    answer: buckets.cupBody,
    run: (act, { body }) => buckets.addCup(act, body),
  }),
  read({
    path: '/instruments',
    permission: 'buckets.see',
    summary: 'Scales, hydrometers and flow cups in use',
    whole: 'as many as a studio has in use',
    answer: z.object({ instruments: z.array(instrumentAnswer) }),
    run: async (ask) => ({ instruments: await buckets.listInstruments(ask) }),
  }),
  write({
    path: '/instruments',
    permission: 'gear.edit',
    summary: 'A scale, a hydrometer or a flow cup; readings name it by its code',
    body: buckets.instrumentBody,
    answer: instrumentAnswer,
    run: (act, { body }) => buckets.addInstrument(act, body),
  }),
  read({
    path: '/floats',
    permission: 'buckets.see',
    summary: 'Floats in use, each with its newest calibration',
    whole: 'as many as a studio has in use',
    answer: z.object({ floats: z.array(floatAnswer) }),
    run: async (ask) => ({ floats: (await buckets.listFloats(ask)).map(floatJson) }),
  }),
  write({
    path: '/floats',
    permission: 'gear.edit',
    summary: 'A float, to be calibrated before it reads',
    body: buckets.floatBody,
    answer: floatAnswer,
    run: async (act, { body }) => floatJson(await buckets.addFloat(act, body)),
  }),
  write({
    path: '/floats/:code/calibration',
    permission: 'gear.edit',
    summary: 'Calibrate a float by two or more pairs of mm immersed and weighed gravity; the newest counts',
    params: z.object({ code: z.string() }),
    body: buckets.calibrationBody,
    answer: calibrationAnswer,
    run: async (act, { params, body }) =>
      calibrationJson(await buckets.calibrateFloat(act, params.code, body)),
  }),
];
