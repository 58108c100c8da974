import { z } from 'zod';
import type { Read } from '../core/actor.ts';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { withExamples } from '../core/examples.ts';
import { choice } from '../core/forms.ts';
import { iso, isoOrNull, whole } from '../core/json.ts';
import { benchEndpoints } from './api-bench.ts';
import { bisqueEndpoints } from './api-bisque.ts';
import { tileEndpoints } from './api-tiles.ts';
import { COAT_FACES, COAT_WAYS, nextCoat, routeSteps } from './route.ts';
import * as ware from './service/index.ts';
import { STAGES } from './stage.ts';

const num = z.number();
const time = z.iso.datetime();
const LARGEST = 2 ** 31 - 1;

const params = z.object({ number: whole(1, LARGEST) });

const footprint = z.union([
  z.object({ shape: z.literal('circle'), diameterMm: num }),
  z.object({ shape: z.literal('rectangle'), widthMm: num, depthMm: num }),
]);
const firing = z.object({ kind: z.string(), cone: z.string(), atmosphere: z.string() });
const holder = z.object({ kind: z.enum(['person', 'group']), name: z.string() }).nullable();

const pieceAnswer = z.object({
  number: z.int(),
  /** The number of the first piece registered in the same act. */
  batch: z.int(),
  stage: z.enum(STAGES),
  stageSince: time,
  /** The number of the load it is in. */
  load: z.int().nullable(),
  waitingSince: time.nullable(),
  form: z.string(),
  measured: z.object({
    footprint,
    heightMm: num,
    when: z.enum(['wet', 'dry', 'bisque']),
    byTechnician: z.boolean(),
  }),
  /** The size it has in its next firing. */
  asPacked: z.object({ footprint, heightMm: num }),
  kg: num.nullable(),
  thickestMm: num,
  isClosed: z.boolean(),
  hasHole: z.boolean(),
  stack: z.string(),
  clay: z.string().nullable(),
  ownClay: z.string().nullable(),
  isBisqued: z.boolean(),
  wanted: firing,
  next: firing.nullable(),
  wantedBy: z.iso.date().nullable(),
  mark: z.string(),
  place: z.string(),
  /** SHA-256 of the photo at /files/. */
  photo: z.string().nullable(),
  note: z.string().nullable(),
  owner: holder,
  payer: holder,
  glazes: z.array(
    z.object({
      bucket: z.string().nullable(),
      own: z.string().nullable(),
      coneFrom: z.string().nullable(),
      coneTo: z.string().nullable(),
      isRunny: z.boolean(),
      /** What the bucket held then. */
      specificGravity: num.nullable(),
      reading: z.int().nullable(),
      batch: z.int().nullable(),
      /** Where it is; 'all' where nobody said. */
      face: z.enum(COAT_FACES),
      way: z.enum(COAT_WAYS).nullable(),
      seconds: num.nullable(),
      /** Dry thickness, and what it follows from. */
      coatMm: num.nullable(),
      coatFrom: z.enum(['weighed', 'tiles']).nullable(),
      /** By a pin. */
      scratchMm: num.nullable(),
      position: z.int(),
      at: time,
      /** The number of the load it was fired in; null while it is raw. */
      load: z.int().nullable(),
    }),
  ),
  trayMm: num,
  gates: z.array(
    z.object({ gate: z.string(), ok: z.boolean(), words: z.string(), who: z.enum(['owner', 'technician']) }),
  ),
  isReady: z.boolean(),
  flag: z.string().nullable(),
  reason: z.string().nullable(),
  outcome: z.string().nullable(),
});

const held = (by: ware.Holder | null) => by && { kind: by.kind, name: by.name };

function pieceJson(piece: ware.PieceNow): z.input<typeof pieceAnswer> {
  const { number, batch, stage, load, form, measured, asPacked, kg, thickestMm, isClosed, hasHole } = piece;
  return {
    number,
    batch,
    stage,
    stageSince: iso(piece.stageSince),
    load,
    waitingSince: isoOrNull(piece.waitingSince),
    form,
    measured,
    asPacked,
    kg,
    thickestMm,
    isClosed,
    hasHole,
    stack: piece.stack,
    clay: piece.clay?.name ?? null,
    ownClay: piece.ownClay,
    isBisqued: piece.isBisqued,
    wanted: piece.final,
    next: piece.next,
    wantedBy: piece.wantedBy,
    mark: piece.mark,
    place: piece.place,
    photo: piece.photo,
    note: piece.note,
    owner: held(piece.owner),
    payer: held(piece.payer),
    glazes: piece.glazes.map((one) => ({
      bucket: one.bucket?.code ?? null,
      own: one.own?.name ?? null,
      coneFrom: one.coneFrom,
      coneTo: one.coneTo,
      isRunny: one.isRunny,
      specificGravity: one.gravity,
      reading: one.reading,
      batch: one.batchNumber,
      face: one.face,
      way: one.way,
      seconds: one.seconds,
      coatMm: one.coatMm,
      coatFrom: one.coatFrom,
      scratchMm: one.scratchMm,
      position: one.position,
      at: iso(one.at),
      load: one.load,
    })),
    trayMm: piece.trayMm,
    gates: piece.gates,
    isReady: piece.isReady,
    flag: piece.flag,
    reason: piece.reason,
    outcome: piece.outcome,
  };
}

const planAnswer = z
  .object({ inside: z.string().nullable(), outside: z.string().nullable(), over: z.array(z.string()) })
  .nullable();

const routeAnswer = z.object({
  number: z.int(),
  /** Of its batch, at the same point of their way. */
  others: z.array(z.int()),
  plan: planAnswer,
  /** The coat that the plan asks for next. */
  next: z.object({ face: z.enum(COAT_FACES), glaze: z.string() }).nullable(),
  waxedAt: time.nullable(),
  coats: z.array(
    z.object({
      event: z.int(),
      at: time,
      glaze: z.string(),
      face: z.enum(COAT_FACES),
      way: z.enum(COAT_WAYS),
      seconds: num.nullable(),
      specificGravity: num.nullable(),
      mm: num.nullable(),
      from: z.enum(['weighed', 'tiles']).nullable(),
      beforeGrams: num.nullable(),
      afterGrams: num.nullable(),
      /** Slurry it took, where that can be told. */
      litres: num.nullable(),
      /** False where the bucket was not to be used: its ledger has no line of it. */
      inBucketLedger: z.boolean(),
    }),
  ),
  bareGrams: num.nullable(),
  /** Since the last coat. */
  weighings: z.array(z.object({ event: z.int(), at: time, grams: num })),
  insideDryAt: time.nullable(),
  footAt: time.nullable(),
  wall: z.object({
    state: z.enum(['bare', 'wet', 'dry', 'said-dry']),
    by: z.enum(['scale', 'clock', 'hand']).nullable(),
    /** The next coat had better wait. */
    wait: z.boolean(),
    readyAt: time.nullable(),
    range: z.object({ low: time, high: time }).nullable(),
    shareGone: num.nullable(),
    waterGrams: num.nullable(),
  }),
  steps: z.array(z.object({ words: z.string(), done: z.boolean() })),
});

function routeJson({ piece, others, route, wetness }: ware.AtBench): z.input<typeof routeAnswer> {
  const { plan, coats, weighings, bareGrams } = route;
  const { state, by, asksWait, readyAt, range, shareGone, waterGrams } = wetness;
  return {
    number: piece.number,
    others: others.map(({ number }) => number),
    plan,
    next: nextCoat(route),
    waxedAt: isoOrNull(route.waxedAt),
    coats: coats.map(({ at, gravity, unbooked, reading: _, batch: __, solidsFraction: ___, ...coat }) => ({
      ...coat,
      at: iso(at),
      specificGravity: gravity,
      inBucketLedger: !unbooked,
    })),
    bareGrams,
    weighings: weighings.map((one) => ({ ...one, at: iso(one.at) })),
    insideDryAt: isoOrNull(route.insideDryAt),
    footAt: isoOrNull(route.footAt),
    wall: {
      state,
      by,
      wait: asksWait,
      readyAt: isoOrNull(readyAt),
      range: range && { low: iso(range.low), high: iso(range.high) },
      shareGone,
      waterGrams,
    },
    steps: routeSteps(plan, route, state).map(({ words, isDone }) => ({ words, done: isDone })),
  };
}

const moveAnswer = pieceAnswer.extend({
  /** What was done all the same, and what is missing because of it. */
  warnings: z.array(z.string()),
});

async function warningsOf(read: Read, number: number): Promise<string[]> {
  const { route } = await ware.findRoute(read, number);
  const last = route.coats.at(-1);
  return last?.unbooked
    ? [
        `Bucket ${last.glaze} was not to be used: the coat is kept, but the bucket's ledger has no line of it.`,
      ]
    : [];
}

const moves = ware.MOVE_PATHS.map((path) => {
  const { permission, summary, body } = ware.moveOf(path);
  return write({
    path: `/pieces/:number/${path}`,
    permission,
    summary,
    params,
    body,
    answer: path === 'coat' ? moveAnswer : pieceAnswer,
    run: async (act, input) => {
      const { number } = input.params;
      await ware.movePieces(act, path, [number], input.body as never);
      const piece = pieceJson(await ware.findPiece(act, number));
      return path === 'coat' ? { ...piece, warnings: await warningsOf(act, number) } : piece;
    },
  });
});

export const wareEndpoints: Endpoint[] = withExamples(
  [
    pages({
      path: '/pieces',
      permission: 'ware.own',
      summary: "Your pieces, newest first; everybody's for a technician who asks for them",
      query: {
        everybody: choice(['yes', 'no']).default('no'),
        stage: choice(STAGES).optional(),
      },
      page: { most: 200, usual: 50 },
      answer: z.object({ pieces: z.array(pieceAnswer), next: z.int().nullable() }),
      run: async (ask, { query }) => {
        const { limit, before, stage } = query;
        const filter = {
          limit: limit + 1,
          ...(before !== undefined && { before }),
          ...(stage !== undefined && { stages: [stage] }),
        };
        const found = await (query.everybody === 'yes' ? ware.listDesk : ware.listOwn)(ask, filter);
        const shown = found.slice(0, limit);
        return {
          pieces: shown.map(pieceJson),
          next: found.length > limit ? (shown.at(-1)?.number ?? null) : null,
        };
      },
    }),
    read({
      path: '/pieces/:number',
      permission: 'ware.own',
      summary: 'One piece: where it is, and what keeps it from its next firing',
      params,
      answer: pieceAnswer,
      run: async (ask, input) => pieceJson(await ware.findPiece(ask, input.params.number)),
    }),
    read({
      path: '/pieces/:number/route',
      permission: 'ware.own',
      summary:
        'Where a piece is on its way from bisque to the kiln, and whether its wall is dry enough for a coat',
      params,
      answer: routeAnswer,
      run: async (ask, input) => routeJson(await ware.findRoute(ask, input.params.number)),
    }),
    write({
      path: '/pieces',
      permission: 'ware.own',
      summary: 'Register one piece, or several that are alike',
      body: ware.registerForm,
      answer: z.object({ numbers: z.array(z.int()) }),
      run: (act, { body }) => ware.registerPieces(act, body),
    }),
    ...moves,
    write({
      path: '/pieces/:number/claim',
      permission: 'ware.own',
      summary: 'Say that a piece on the shelf without names is yours; a technician hands it over',
      params,
      body: ware.claimForm,
      answer: z.object({ number: z.int() }),
      run: async (act, { params: { number }, body }) => {
        await ware.claimPiece(act, number, body);
        return { number };
      },
    }),
    ...benchEndpoints,
    ...bisqueEndpoints,
    ...tileEndpoints,
  ],
  new URL('./api-examples.json', import.meta.url),
);
