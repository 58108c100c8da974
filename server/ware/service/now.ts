import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import { type Firing, sameFiring } from '../firing.ts';
import { type Gate, type GateFacts, gatesFor } from '../gates.ts';
import { groupBy } from '../group.ts';
import { nextFiring } from '../next-firing.ts';
import type { Outcome } from '../outcome.ts';
import type { StackWay } from '../presets.ts';
import { type CoatFace, type CoatWay, isEmpty, nextCoat, type Plan } from '../route.ts';
import type { WareSettings } from '../settings.ts';
import { asPacked, type Footprint, type Measured, type Size } from '../size.ts';
import { type Stage, WAITING } from '../stage.ts';
import * as store from '../store/pieces.ts';
import { listRuns } from '../store/runs.ts';
import { wareSettings } from './settings.ts';

/** Whose a piece is, or who pays for it. */
export interface Holder {
  kind: 'person' | 'group';
  id: number;
  name: string;
}

export interface PieceGlaze {
  position: number;
  bucket: { id: number; code: string; name: string } | null;
  /** From outside, with the cones its owner says it takes. */
  own: { name: string; coneFrom: string; coneTo: string } | null;
  /** Null where nobody wrote down which cones the bucket's glaze takes. */
  coneFrom: string | null;
  coneTo: string | null;
  isRunny: boolean;
  trayMm: number;
  tags: string[];
  /** What the bucket held when the piece was glazed. */
  gravity: number | null;
  reading: number | null;
  batchNumber: number | null;
  face: CoatFace;
  way: CoatWay | null;
  /** So long in the glaze, or the glaze in it. */
  seconds: number | null;
  /** Dry thickness: as it follows from weighing or test tiles, and as somebody scratched it. */
  coatMm: number | null;
  coatFrom: 'weighed' | 'tiles' | null;
  scratchMm: number | null;
  /** Codes of the glazes that it is known to run with. */
  runsWith: string[];
  at: Instant;
  /** The load it was fired in; null while it is raw. */
  load: number | null;
}

/** A piece as it is at an instant, for whoever asks. */
export interface PieceNow extends GateFacts {
  id: number;
  number: number;
  /** The number of the first piece registered in the same act. */
  batch: number;
  lastEvent: number;
  stage: Stage;
  stageSince: Instant;
  load: number | null;
  waitingSince: Instant | null;
  /** Its owner thinks it is dry and a technician has not felt it yet. */
  isAsked: boolean;
  form: string;
  measured: Size & { when: Measured; byTechnician: boolean };
  /** The size it has in its next firing. */
  asPacked: Size;
  kg: number | null;
  /** How it may stand on its like as bisque; never where it carries glaze. */
  stack: StackWay;
  clay: { id: number; name: string; maxCone: string; bisqueCone: string; dryShrinkPercent: number } | null;
  isOnce: boolean;
  /** The firing that is wanted in the end. */
  final: Firing;
  /** The firing it waits for or will need next; null once it is through. */
  next: Firing | null;
  wantedBy: string | null;
  mark: string;
  place: string;
  /** SHA-256 of its photo. */
  photo: string | null;
  note: string | null;
  owner: Holder | null;
  payer: Holder | null;
  registeredBy: { id: number; name: string };
  registeredAt: Instant;
  glazes: PieceGlaze[];
  /** What goes where, since it last came out of a kiln or was glazed otherwise; null where nothing is planned. */
  plan: Plan | null;
  /** The coat that its plan asks for next; null where all are on, or nothing is planned. */
  nextCoat: { face: CoatFace; glaze: string } | null;
  /** Of its glazes, for what must not share a load. */
  tags: string[];
  /** Every gate of its next firing, open ones first. */
  gates: Gate[];
  /** It waits and no gate is open. */
  isReady: boolean;
  /** Why it is where it is, for ware that was returned or lost. */
  reason: string | null;
  /** What a piece without a name looked like when it was found. */
  looks: 'greenware' | 'bisque' | 'fired' | null;
  /** How it came out of its last firing. */
  outcome: Outcome | null;
  /** It belongs to whoever asks, or to a group that concerns them. */
  isMine: boolean;
}

/** How its row in the database says what it stands on. */
export function footprintOf({
  footprint,
  widthMm,
  depthMm,
}: Pick<store.PieceColumns, 'footprint' | 'widthMm' | 'depthMm'>): Footprint {
  return footprint === 'circle'
    ? { shape: 'circle', diameterMm: widthMm }
    : { shape: 'rectangle', widthMm, depthMm };
}

function holder(
  person: { id: number; name: string } | null,
  group: { id: number; name: string } | null,
): Holder | null {
  if (person) return { kind: 'person', ...person };
  return group && { kind: 'group', ...group };
}

/** Which glazes run with one, by their codes. */
export type RunsWith = (code: string) => string[];

/** Looks the pairs that run up once, for any number of pieces. */
export async function runsWithIn({ tx }: Pick<Read, 'tx'>): Promise<RunsWith> {
  const found = new Map<string, string[]>();
  const put = (code: string, other: string) => found.set(code, [...(found.get(code) ?? []), other]);
  for (const { a, b } of await listRuns(tx)) {
    put(a.code, b.code);
    if (a.code !== b.code) put(b.code, a.code);
  }
  return (code) => found.get(code) ?? [];
}

function glazeOf(row: store.GlazeRow, runsWith: RunsWith): PieceGlaze {
  const { position, bucket, ownName, ownFrom, ownTo, gravity, reading, batchNumber, at, load } = row;
  const { face, way, seconds, coatMm, coatFrom, scratchMm } = row;
  const own =
    ownName === null ? null : { name: ownName, coneFrom: ownFrom ?? ownTo ?? '', coneTo: ownTo ?? '' };
  return {
    position,
    bucket,
    own,
    coneFrom: own ? own.coneFrom : row.bucketFrom,
    coneTo: own ? own.coneTo : (row.bucketTo ?? row.bucketFrom),
    isRunny: row.isRunny ?? false,
    trayMm: row.trayMm ?? 0,
    tags: row.tags ?? [],
    gravity,
    reading,
    batchNumber,
    face,
    way,
    seconds,
    coatMm,
    coatFrom,
    scratchMm,
    runsWith: bucket ? runsWith(bucket.code) : [],
    at,
    load,
  };
}

/** What an event plans; an empty plan is none. */
function planOf(payload: unknown): Plan | null {
  const plan = payload === null ? undefined : fromStored(payload).plan;
  return plan && !isEmpty(plan) ? plan : null;
}

/** Of its raw coats those that were put on at the bench, one by one, in order; its route has the same. */
export const benchCoats = (glazes: readonly PieceGlaze[]): (PieceGlaze & { glaze: string })[] =>
  glazes.flatMap((one) =>
    one.load === null && one.way !== null && one.bucket ? [{ ...one, glaze: one.bucket.code }] : [],
  );

function pieceNow(
  row: store.PieceRow,
  glazes: PieceGlaze[],
  isMine: boolean,
  settings: WareSettings,
  now: Instant,
): PieceNow {
  const { piece, clay, isBisqued, isOnce } = row;
  const final: Firing = { kind: piece.kind, cone: piece.cone, atmosphere: piece.atmosphere };
  const next = nextFiring({ stage: piece.stage, isBisqued, isOnce, final }, clay, settings);
  const size: Size = { footprint: footprintOf(piece), heightMm: piece.heightMm };
  const facts: GateFacts = {
    isBisqued,
    dryAt: piece.dryAt,
    thickestMm: piece.thickestMm,
    isClosed: piece.isClosed,
    hasHole: piece.hasHole,
    footAt: piece.footAt,
    clay,
    ownClay: piece.ownClay,
    glazes,
    yesAt: piece.yesAt,
    trayMm: Math.max(piece.trayMm, ...glazes.map(({ trayMm }) => trayMm)),
    flag: piece.flag,
  };
  const plan = planOf(row.plan);
  const gates = next ? gatesFor(facts, next, settings, now) : [];
  return {
    ...facts,
    id: piece.id,
    number: piece.number,
    batch: piece.batch,
    lastEvent: piece.lastEvent,
    stage: piece.stage,
    stageSince: piece.stageSince,
    load: piece.load,
    waitingSince: piece.waitingSince,
    isAsked: piece.stage === 'drying' && piece.waitingSince !== null,
    form: piece.form,
    measured: { ...size, when: piece.measured, byTechnician: piece.measuredByTechnician },
    asPacked: asPacked(size, piece.measured, clay),
    kg: piece.kg,
    stack: glazes.length > 0 ? 'none' : piece.stack,
    clay: clay && {
      id: clay.id,
      name: clay.name,
      maxCone: clay.maxCone,
      bisqueCone: clay.bisqueCone,
      dryShrinkPercent: clay.dryShrinkPercent,
    },
    isOnce,
    final,
    next,
    wantedBy: piece.wantedBy,
    mark: piece.mark,
    place: piece.place,
    photo: row.photo,
    note: row.note,
    owner: holder(row.owner, row.ownerGroup),
    payer: holder(row.payer, row.payerGroup),
    registeredBy: row.registeredBy,
    registeredAt: piece.registeredAt,
    glazes,
    plan,
    nextCoat: nextCoat({ plan, coats: benchCoats(glazes) }),
    tags: [...new Set(glazes.flatMap(({ tags }) => tags))],
    gates,
    isReady: WAITING.includes(piece.stage) && gates.every(({ ok }) => ok),
    reason: row.reason,
    looks: row.looks,
    outcome: row.outcome as Outcome | null,
    isMine,
  };
}

async function piecesNow(read: Read, filter: store.PieceFilter): Promise<PieceNow[]> {
  const [rows, settings] = await Promise.all([store.listPieces(read.tx, filter), wareSettings(read)]);
  const ids = rows.map(({ piece }) => piece.id);
  const [glazes, own, runsWith] = await Promise.all([
    store.glazesOn(read.tx, ids),
    store.ownAmong(read.tx, read.actor.id, ids),
    runsWithIn(read),
  ]);
  const on = groupBy(glazes, ({ pieceId }) => pieceId);
  return rows.map((row) => {
    const { id } = row.piece;
    return pieceNow(
      row,
      (on.get(id) ?? []).map((glaze) => glazeOf(glaze, runsWith)),
      own.has(id),
      settings,
      read.now,
    );
  });
}

/** Pieces of whoever asks and of groups that concern them, newest number first. */
export async function listOwn(
  read: Read,
  filter: Pick<store.PieceFilter, 'before' | 'limit' | 'stages'> = {},
): Promise<PieceNow[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return piecesNow(read, { ...filter, ownedBy: read.actor.id });
}

/** Everybody's pieces for a technician, newest number first unless asked for by how long they have waited. */
export async function listDesk(read: Read, filter: store.PieceFilter = {}): Promise<PieceNow[]> {
  mustBeAllowed(read.actor, 'ware.see-all');
  return piecesNow(read, filter);
}

/** Pieces by their numbers, in ascending order, whosever they are; unknown numbers are left out. */
export async function findPieces(read: Read, numbers: readonly number[]): Promise<PieceNow[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return (await piecesNow(read, { numbers })).reverse();
}

/** Pieces that whoever asks may see. Throws NotFound when one of them is not there for them. */
export async function findOwn(read: Read, numbers: readonly number[]): Promise<PieceNow[]> {
  mustBeAllowed(read.actor, 'ware.own');
  const found = await findPieces(read, numbers);
  const seesAll = may(read.actor.role, 'ware.see-all');
  const open = found.filter(({ isMine }) => isMine || seesAll);
  const missing = numbers.find((number) => !open.some((piece) => piece.number === number));
  if (missing !== undefined) throw new NotFound(`There is no piece ${missing}${seesAll ? '' : ' of yours'}.`);
  return open;
}

/** Pieces that whoever acts may see, their rows locked until the end of the transaction, in ascending order. */
export async function lockOwn(act: Act, numbers: readonly number[]): Promise<PieceNow[]> {
  await store.lockPieces(act.tx, numbers);
  return findOwn(act, numbers);
}

/** One piece, for its owner, whoever is in its group, or a technician. Throws NotFound for everybody else. */
export async function findPiece(read: Read, number: number): Promise<PieceNow> {
  const [piece] = await findOwn(read, [number]);
  return piece as PieceNow;
}

/** All that wait for a firing, or for one firing, oldest first, ready or not. */
export async function listWaiting(read: Read, firing?: Firing): Promise<PieceNow[]> {
  mustBeAllowed(read.actor, 'ware.own');
  const all = await piecesNow(read, { stages: WAITING, oldestWaitFirst: true });
  return firing ? all.filter(({ next }) => next !== null && sameFiring(next, firing)) : all;
}

/** Pieces that nobody knows whose they are, newest number first. */
export async function listNameless(
  read: Read,
  filter: Pick<store.PieceFilter, 'before' | 'limit'> = {},
): Promise<PieceNow[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return piecesNow(read, { ...filter, stages: ['no-name'] });
}
