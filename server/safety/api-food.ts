import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { iso, whole } from '../core/json.ts';
import { LEACH_RULES, LEACH_UNITS, METALS, type MetalJudgement, WARE_SHAPES } from './leach.ts';
import { exposureBody, judgeExposure } from './service/exposure.ts';
import {
  findTest,
  judgeFigures,
  type LeachTest,
  leachBody,
  listTests,
  recordTest,
  testBody,
  voidForm,
  voidTest,
} from './service/food.ts';

const num = z.number();
const words = z.string();
const LARGEST = 2 ** 31 - 1;

const metalAnswer = z.object({
  pass: z.boolean(),
  sample: z.int().nullable().meta({ description: 'Counted from 1; null where the mean decides' }),
  value: num.meta({ description: 'In the unit of the limit' }),
  limit: num,
  words,
});

const metalJson = ({ pass, sample, value, limit, words: said }: MetalJudgement) => ({
  pass,
  sample,
  value,
  limit,
  words: said,
});

const deciding = z.object({
  metal: z.enum(METALS),
  sample: z.int().nullable(),
  value: num,
  limit: num,
});

const leachAnswer = z.object({
  category: z.string(),
  categoryWords: words,
  limits: z.object({ lead: num, cadmium: num, unit: z.enum(LEACH_UNITS) }),
  pass: z.boolean().meta({ description: 'By the figures that were given' }),
  complete: z.boolean().meta({ description: 'There are as many samples as the rules want' }),
  samplesWanted: z.int(),
  deciding,
  lead: metalAnswer,
  cadmium: metalAnswer,
  words,
});

const exposureState = z.enum(['unknown', 'assumed', 'over', 'action-level', 'below']);

const exposureAnswer = z.object({
  average8h: num.nullable().meta({ description: 'Of one substance, in the unit of its limit' }),
  limit: num.nullable(),
  share: num.nullable().meta({ description: 'Of the limit: of one substance, or the sum over several' }),
  mixtureSum: num.nullable(),
  state: exposureState.meta({ description: 'Only what was measured can be below a limit' }),
  words,
  substances: z.array(
    z.object({
      name: words,
      average8h: num.nullable(),
      limit: num,
      share: num.nullable(),
      state: exposureState,
      words,
      source: z.string().nullable(),
    }),
  ),
});

const testAnswer = z.object({
  number: z.int(),
  recipe: z.object({ id: z.int(), name: words, version: z.int() }),
  clay: words,
  cone: words,
  rules: z.enum(LEACH_RULES),
  category: words,
  ware: z.object({
    shape: z.enum(WARE_SHAPES),
    internalDepthMm: num,
    volumeMl: num,
    areaDm2: num.optional(),
  }),
  unit: z.enum(LEACH_UNITS),
  lead: z.array(num),
  cadmium: z.array(num),
  passed: z.boolean(),
  deciding,
  lab: words,
  testedOn: z.iso.date(),
  recordedAt: z.iso.datetime(),
  by: words,
  report: z.string().nullable().meta({ description: 'SHA-256 of the report at /files/' }),
  struckOut: z.string().nullable().meta({ description: 'Why it counts no longer' }),
});

const testJson = ({ said: _, at, struck, ...test }: LeachTest): z.input<typeof testAnswer> => ({
  ...test,
  recordedAt: iso(at),
  struckOut: struck,
});

const params = z.object({ number: whole(1, LARGEST) });

export const foodEndpoints: Endpoint[] = [
  write({
    path: '/leach',
    permission: 'food.see',
    summary:
      'Lead and cadmium from a leach test held against the limits for the ware; nothing of it is kept. Unit mg/L or mg/dm2; ware.areaDm2 turns one into the other',
    body: leachBody,
    answer: leachAnswer,
    status: 200,
    run: async (act, { body }) => {
      const judged = judgeFigures(act, body);
      const { category, pass, complete, deciding: decides } = judged;
      return {
        category: category.key,
        categoryWords: category.words,
        limits: {
          lead: category.limits.lead.mg,
          cadmium: category.limits.cadmium.mg,
          unit: category.unit,
        },
        pass,
        complete,
        samplesWanted: category.samples,
        deciding: {
          metal: decides.metal,
          sample: decides.sample,
          value: decides.value,
          limit: decides.limit,
        },
        lead: metalJson(judged.lead),
        cadmium: metalJson(judged.cadmium),
        words: judged.words,
      };
    },
  }),
  write({
    path: '/exposure',
    permission: 'safety.see',
    summary:
      'The eight-hour average of a shift held against a limit, or the sum over several substances; nothing of it is kept. A task is measured unless its basis says otherwise',
    body: exposureBody,
    answer: exposureAnswer,
    status: 200,
    run: async (act, { body }) => {
      const { substances, mixture } = judgeExposure(act, body);
      const [first] = substances;
      const alone = substances.length === 1 ? first : undefined;
      return {
        average8h: alone?.average ?? null,
        limit: alone?.limit ?? null,
        share: alone ? alone.share : mixture.sum,
        mixtureSum: mixture.sum,
        state: alone?.state ?? mixture.state,
        words: alone?.words ?? mixture.words,
        substances: substances.map(({ name, average, limit, share, state, words: said, source }) => ({
          name,
          average8h: average,
          limit,
          share,
          state,
          words: said,
          source,
        })),
      };
    },
  }),
  pages({
    path: '/leach-tests',
    permission: 'food.see',
    summary: 'Tests for lead and cadmium, the newest first; `before` asks for those with a lower number',
    page: { most: 200, usual: 50 },
    answer: z.object({ tests: z.array(testAnswer), next: z.int().nullable() }),
    run: async (ask, { query }) => {
      const { tests, next } = await listTests(ask, query);
      return { tests: tests.map(testJson), next };
    },
  }),
  read({
    path: '/leach-tests/:number',
    permission: 'food.see',
    summary: 'One test, a struck out one too',
    params,
    answer: testAnswer,
    run: async (ask, { params: { number } }) => testJson(await findTest(ask, number)),
  }),
  write({
    path: '/leach-tests',
    permission: 'food.record',
    summary: 'A laboratory’s figures for a recipe as it was mixed, on a clay, fired to a cone',
    body: testBody,
    answer: testAnswer,
    run: async (act, { body }) => testJson(await findTest(act, await recordTest(act, body, null))),
  }),
  write({
    path: '/leach-tests/:number/void',
    permission: 'food.record',
    summary: 'Strikes a test out: it stays, and counts no longer',
    params,
    body: voidForm,
    answer: testAnswer,
    status: 200,
    run: async (act, { params: { number }, body }) => {
      await voidTest(act, number, body.reason);
      return testJson(await findTest(act, number));
    },
  }),
];
