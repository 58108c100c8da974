import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { Invalid } from '../core/errors.ts';
import { withExamples } from '../core/examples.ts';
import { instant, quantity, text } from '../core/forms.ts';
import { iso, isoOrNull, whole } from '../core/json.ts';
import { type Way, ways } from './advice.ts';
import { gearEndpoints } from './api-gear.ts';
import { KINDS, type Kind, type KindPath } from './kinds.ts';
import * as buckets from './service/index.ts';
import { STATE_WORDS, type StateName } from './verdict.ts';

const num = z.number();
const time = z.iso.datetime();

const params = z.object({ code: z.string() });
const eventParams = z.object({ code: z.string(), number: whole(1, 2_147_483_647) });

const way = z.object({
  kind: z.enum(['add-water', 'add-dry', 'take-water-off', 'blend']),
  litres: num.optional(),
  kilograms: num.optional(),
  first: num,
  range: z.object({ low: num, high: num }),
  takeOutFirst: num.optional(),
  specificGravity: num.optional(),
});

const bucketAnswer = z.object({
  code: z.string(),
  name: z.string(),
  colour: z.string(),
  place: z.string(),
  state: z.enum(Object.keys(STATE_WORDS) as [StateName, ...StateName[]]),
  why: z.string(),
  specificGravity: z
    .object({ value: num, standardUncertainty: num, basis: z.enum(['measured', 'predicted']), at: time })
    .nullable(),
  target: z.object({ low: num, aim: num, high: num }),
  flow: z.object({ low: num, high: num }).nullable(),
  lastFlow: z
    .object({
      seconds: num.nullable(),
      word: z.enum(['thin', 'cream', 'custard', 'gelled']).nullable(),
      at: time,
    })
    .nullable(),
  isReclaim: z.boolean(),
  capacityLitres: num,
  litres: z.object({ value: num, standardUncertainty: num, seenAt: time.nullable() }).nullable(),
  solidsKg: num.nullable(),
  waterKg: num.nullable(),
  solidsDensity: num,
  /** The newest weighed batch in it. */
  batch: z.int().nullable(),
  service: z.enum(['in-service', 'on-test', 'do-not-use', 'retired']),
  lastStirredAt: time.nullable(),
  lastReadingAt: time.nullable(),
  readyUntil: time.nullable(),
  stirIntervalMinutes: num,
  readingTrustedHours: num,
  advice: way.nullable(),
  alternatives: z.array(way),
  /** The amounts rest on a level that nobody has seen for a while: look how full it is first. */
  askLevel: z.boolean(),
});

const eventAnswer = z.looseObject({
  number: z.int(),
  kind: z.string(),
  happenedAt: time,
  recordedAt: time,
  by: z.string(),
  note: z.string().nullable(),
  voided: z.boolean(),
  /** The number of the weighed batch that went in with it. */
  batch: z.int().optional(),
});

const recorded = z.object({ event: eventAnswer, bucket: bucketAnswer });

function bucketJson(b: buckets.BucketNow): z.input<typeof bucketAnswer> {
  const { facts, verdict } = b;
  return {
    code: b.code,
    name: b.name,
    colour: b.colour,
    place: b.place,
    state: verdict.state,
    why: verdict.why,
    specificGravity:
      facts.gravity === null || facts.gravityBasis === null || facts.gravityAt === null
        ? null
        : {
            value: facts.gravity,
            standardUncertainty: facts.gravityU,
            basis: facts.gravityBasis,
            at: iso(facts.gravityAt),
          },
    target: b.target,
    flow: b.flow,
    lastFlow:
      facts.flowAt === null
        ? null
        : { seconds: facts.flowSeconds, word: facts.flowWord, at: iso(facts.flowAt) },
    isReclaim: b.isReclaim,
    capacityLitres: b.capacityLitres,
    litres:
      facts.litres === null
        ? null
        : { value: facts.litres, standardUncertainty: facts.litresU, seenAt: isoOrNull(facts.levelSeenAt) },
    solidsKg: facts.solidsKg,
    waterKg: facts.waterKg,
    solidsDensity: facts.solidsDensity,
    batch: facts.batch,
    service: facts.service,
    lastStirredAt: isoOrNull(facts.stirredAt),
    lastReadingAt: isoOrNull(facts.readingAt),
    readyUntil: isoOrNull(verdict.readyUntil),
    stirIntervalMinutes: b.stirIntervalMinutes,
    readingTrustedHours: b.readingTrustedHours,
    advice: b.advice,
    alternatives: b.alternatives,
    askLevel: verdict.askLevel,
  };
}

function eventJson(e: buckets.Recorded['event']): z.input<typeof eventAnswer> {
  return {
    ...e.entry,
    number: e.number,
    happenedAt: iso(e.happenedAt),
    recordedAt: iso(e.recordedAt),
    by: e.by,
    note: e.note,
    voided: e.voided,
  };
}

const recordedJson = ({ event, bucket }: buckets.Recorded): z.input<typeof recorded> => ({
  event: eventJson(event),
  bucket: bucketJson(bucket),
});

const acts = (Object.keys(KINDS) as KindPath[]).map((path) => {
  const { summary, body } = KINDS[path] as Kind;
  return write({
    path: `/buckets/:code/${path}`,
    permission: path === 'readings' ? 'buckets.measure' : 'buckets.record',
    summary,
    params,
    body,
    answer: recorded,
    run: async (act, input) =>
      recordedJson(await buckets.recordAct(act, input.params.code, path, input.body as never)),
  });
});

const adviceBody = z.strictObject({
  litres: quantity(0.01, 1000, 'L'),
  specificGravity: quantity(1, 4),
  target: quantity(1, 4),
  solidsDensity: quantity(1.01, 8),
  standardUncertainty: quantity(0, 1).optional(),
  capacityLitres: quantity(0.01, 1000, 'L').optional(),
  blendSpecificGravity: quantity(1, 4).optional(),
});

/** All that could be done, each with its amount; what cannot be computed is said beside no field in particular. */
function advise(body: z.output<typeof adviceBody>): Way[] {
  try {
    return ways(body);
  } catch (error) {
    if (error instanceof RangeError) throw new Invalid(error.message);
    throw error;
  }
}

export const bucketEndpoints: Endpoint[] = withExamples(
  [
    read({
      path: '/buckets',
      permission: 'buckets.see',
      summary: 'Every bucket on the wall, as it is now',
      whole: 'as many as hang on the wall',
      answer: z.object({ buckets: z.array(bucketAnswer) }),
      run: async (ask) => ({ buckets: (await buckets.listBuckets(ask)).map(bucketJson) }),
    }),
    read({
      path: '/buckets/:code',
      permission: 'buckets.see',
      summary: 'One bucket, as it is now',
      params,
      answer: bucketAnswer,
      run: async (ask, input) => bucketJson(await buckets.findBucket(ask, input.params.code)),
    }),
    write({
      path: '/buckets',
      permission: 'buckets.edit',
      summary: 'A new bucket with its recipe, or the particle density of its solids',
      body: buckets.bucketBody,
      answer: bucketAnswer,
      run: async (act, { body }) => bucketJson(await buckets.createBucketWithRecipe(act, body)),
    }),
    ...acts,
    write({
      path: '/buckets/:code/events/:number/void',
      permission: 'buckets.void-own',
      summary: 'Strike out an event, with the reason; the bucket is computed anew without it',
      params: eventParams,
      body: z.strictObject({
        reason: text(500),
        note: text(500).optional(),
        happenedAt: instant().optional(),
      }),
      answer: recorded,
      run: async (act, { params: p, body }) => {
        const words = [body.reason, body.note].filter(Boolean).join('. ');
        return recordedJson(await buckets.voidEvent(act, p.code, p.number, words, body.happenedAt));
      },
    }),
    pages({
      path: '/buckets/:code/events',
      permission: 'buckets.see',
      summary: "A bucket's ledger, newest first",
      params,
      page: { most: 200, usual: 50 },
      answer: z.object({ events: z.array(eventAnswer), next: z.int().nullable() }),
      run: async (ask, { params: p, query }) => {
        const { events, next } = await buckets.listEvents(ask, p.code, {
          limit: query.limit,
          before: query.before ?? null,
        });
        return { events: events.map(eventJson), next };
      },
    }),
    write({
      path: '/advice',
      permission: 'buckets.see',
      summary: 'What could be done to a slurry that is not in a bucket here',
      body: adviceBody,
      status: 200,
      answer: z.object({ advice: way.nullable(), alternatives: z.array(way) }),
      run: async (_act, { body }) => {
        const [advice = null, ...alternatives] = advise(body);
        return { advice, alternatives };
      },
    }),
    ...gearEndpoints,
  ],
  new URL('./api-examples.json', import.meta.url),
);
