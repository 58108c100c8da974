import { z } from 'zod';
import { type Endpoint, read, write } from '../core/api.ts';
import { choice } from '../core/forms.ts';
import { iso, isoOrNull, whole } from '../core/json.ts';
import { benchEndpoints } from './api-bench.ts';
import { bisqueEndpoints } from './api-bisque.ts';
import { tileEndpoints } from './api-tiles.ts';
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
    glazes: piece.glazes.map(
      ({ bucket, own, coneFrom, coneTo, isRunny, gravity, reading, batchNumber, at, load }) => ({
        bucket: bucket?.code ?? null,
        own: own?.name ?? null,
        coneFrom,
        coneTo,
        isRunny,
        specificGravity: gravity,
        reading,
        batch: batchNumber,
        at: iso(at),
        load,
      }),
    ),
    trayMm: piece.trayMm,
    gates: piece.gates,
    isReady: piece.isReady,
    flag: piece.flag,
    reason: piece.reason,
    outcome: piece.outcome,
  };
}

const moves = ware.MOVE_PATHS.map((path) => {
  const { permission, summary, body } = ware.moveOf(path);
  return write({
    path: `/pieces/:number/${path}`,
    permission,
    summary,
    params,
    body,
    answer: pieceAnswer,
    run: async (act, input) => {
      const { number } = input.params;
      await ware.movePieces(act, path, [number], input.body as never);
      return pieceJson(await ware.findPiece(act, number));
    },
  });
});

export const wareEndpoints: Endpoint[] = [
  read({
    path: '/pieces',
    permission: 'ware.own',
    summary: "Your pieces, newest first; everybody's for a technician who asks for them",
    query: z.strictObject({
      everybody: choice(['yes', 'no']).default('no'),
      stage: choice(STAGES).optional(),
      limit: whole(1, 200).default(50),
      before: whole(1, LARGEST).optional(),
    }),
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
];
