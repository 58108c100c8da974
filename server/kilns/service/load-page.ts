import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import type { Firing } from '../../ware/firing.ts';
import { findPieces, listWaiting, type PieceNow } from '../../ware/service/index.ts';
import type { Check } from '../approval.ts';
import { downAbout, letsHandsIn } from '../calendar.ts';
import type { Forecast } from '../cooling.ts';
import { type Estimate, estimate } from '../estimate.ts';
import { standing } from '../firing-record.ts';
import type { LoadState } from '../load-fold.ts';
import { type LevelTick, type Shelf, shelvesOf } from '../load-fold.ts';
import { stillFits } from '../packing/moves.ts';
import type { Footprint, Level, Piece } from '../packing/problem.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import type { Place } from './changes.ts';
import { kilnCooling } from './kiln-history.ts';
import { type KilnNow, kilnsByIds } from './kilns.ts';
import type { LoadEventKind } from './load-ledger.ts';
import { checksOf, firingOf, keyOf, rowOf } from './loads.ts';
import { type Schedule, schedulesByIds } from './schedules.ts';
import { kilnSettings } from './settings.ts';

type Refs = Pick<ledgerStore.LoadRow, 'kilnId' | 'scheduleId' | 'kind' | 'cone' | 'atmosphere'>;

/** One filling of a kiln as it stands, for whoever asks, without its plan. */
export interface LoadInList extends Omit<ledgerStore.LoadRow, keyof Refs | 'problem' | 'plan' | 'wishes'> {
  kiln: KilnNow;
  firing: Firing;
  schedule: Schedule | null;
  /** By the newest reading since it was shut off. */
  letsHandsIn: boolean;
  /** What acts on the load carry, so that nobody changes what they have not seen. */
  version: number;
  /** Shares from 0 to 1, by plan. */
  use: { area: number; volume: number };
  /** How many its plan holds. */
  pieceCount: number;
}

/** The same with its plan. */
export interface LoadNow extends LoadInList, Pick<ledgerStore.LoadRow, 'problem' | 'plan' | 'wishes'> {}

/** A piece of a load; whose it is, only technicians and the owner are told. */
export interface LoadPiece extends Place {
  number: number;
  form: string;
  /** As it stands, without air or tray, mm; on its wider side before it is turned. */
  footprint: Footprint;
  heightMm: number;
  zMm: number;
  /** Tray all round that the plan leaves room for, mm. */
  trayMm: number;
  owner: string | null;
  mine: boolean;
  /** Null until its level was ticked. */
  isIn: boolean | null;
  isRunny: boolean;
  /** The level it is pinned to. */
  pin: number | null;
  glazes: string[];
  clay: string | null;
  wantedBy: string | null;
}

/** One thing that was done with a load; by whom and in what words, only technicians are told. */
export interface LoadEvent {
  number: number;
  kind: LoadEventKind;
  happenedAt: Instant;
  by: string | null;
  note: string | null;
  photo: string | null;
  state: LoadState | null;
  voids: number | null;
  payload: unknown;
}

/** A level of a load, and the tick that says what stands on it. */
export interface LoadLevel extends Shelf {
  /** In `load.plan.levels`. */
  levelIndex: number;
  baseMm: number;
  posts: number[] | null;
  tick: {
    event: number;
    at: Instant;
    by: string | null;
    notIn: number[];
    photo: string | null;
    why: string | null;
  } | null;
}

export interface LoadPage {
  load: LoadNow;
  levels: LoadLevel[];
  pieces: LoadPiece[];
  /** Before approval, and what has come to light since; until it is started, for technicians and whoever starts it. */
  checks: Check[];
  /** The largest round piece that still finds room on a level. */
  fits: { part: Level['part']; level: number; circleMm: number; heightMm: number }[];
  events: LoadEvent[];
  estimate: Estimate | null;
  /** By `downAbout`: when it is likely down to what it is opened at. */
  opens: Forecast | null;
  /** What waits for the same firing and could be put in, for technicians; ready ones first. */
  notYetIn: PieceNow[];
}

const OPEN: readonly LoadState[] = ['proposed', 'approved'];

async function loadsNow(read: Read, rows: ledgerStore.LoadRow[]): Promise<LoadNow[]> {
  const named = await withNames(read, rows);
  return named.map((load) => ({ ...load, use: load.plan.use, pieceCount: load.problem.pieces.length }));
}

type Named = Pick<LoadInList, 'kiln' | 'firing' | 'schedule' | 'letsHandsIn' | 'version'>;
type Bare = Refs & Pick<ledgerStore.LoadRow, 'lastEvent' | 'shutOffAt' | 'measuredC' | 'measuredAt'>;

async function withNames<Row extends Bare>(
  read: Read,
  rows: Row[],
): Promise<(Omit<Row, keyof Refs> & Named)[]> {
  const [kilns, schedules, settings] = await Promise.all([
    kilnsByIds(
      read,
      rows.map(({ kilnId }) => kilnId),
    ),
    schedulesByIds(
      read,
      rows.flatMap(({ scheduleId }) => scheduleId ?? []),
    ),
    kilnSettings(read),
  ]);
  return rows.map((row) => {
    const { kilnId, scheduleId, kind, cone, atmosphere, ...load } = row;
    return {
      ...load,
      kiln: kilns.get(kilnId) as KilnNow,
      firing: { kind, cone, atmosphere },
      schedule: scheduleId === null ? null : (schedules.get(scheduleId) ?? null),
      letsHandsIn: letsHandsIn(row, settings),
      version: row.lastEvent,
    };
  });
}

/** Loads, newest first: all, or those in some states, of one kiln, numbered below `before`. */
export async function listLoads(read: Read, filter: store.LoadFilter = {}): Promise<LoadInList[]> {
  mustBeAllowed(read.actor, 'loads.see');
  return withNames(read, await store.listLoads(read.tx, filter));
}

/** A load without what its page shows beside it. @throws NotFound */
export async function findLoad(read: Read, number: number): Promise<LoadNow> {
  mustBeAllowed(read.actor, 'loads.see');
  const [load] = await loadsNow(read, [await rowOf(read, number)]);
  return load as LoadNow;
}

/** All that the page of a load shows. Members see others' ware by number and form only. @throws NotFound */
export async function showLoad(read: Read, number: number): Promise<LoadPage> {
  mustBeAllowed(read.actor, 'loads.see');
  const row = await rowOf(read, number);
  const seesAll = may(read.actor.role, 'loads.plan');
  const isOpen = OPEN.includes(row.state);
  const firing = firingOf(row);
  const [[load], rows, events, photos, settings, waiting, cooling] = await Promise.all([
    loadsNow(read, [row]),
    store.piecesOf(read.tx, row.id),
    ledgerStore.eventsOf(read.tx, row.id),
    store.photosOf(read.tx, row.id),
    kilnSettings(read),
    seesAll && isOpen ? listWaiting(read, firing) : [],
    kilnCooling(read, row.kilnId),
  ]);
  const found = await findPieces(
    read,
    rows.map((one) => one.number),
  );
  const leftOut = new Set(rows.flatMap((one) => (one.isIn === false ? [one.number] : [])));
  const isPlanned = (piece: PieceNow) => !leftOut.has(piece.number);
  const now = load as LoadNow;
  const { kiln, schedule, plan, problem } = now;
  const seesChecks = row.state === 'loaded' ? seesAll || kiln.mayFire : seesAll && isOpen;
  const shown = events.map(
    (event): LoadEvent => ({
      number: event.number,
      kind: event.kind as LoadEventKind,
      happenedAt: event.happenedAt,
      by: seesAll ? event.byName : null,
      note: seesAll ? event.note : null,
      photo: photos.get(event.number) ?? null,
      state: event.state,
      voids: event.voids,
      payload: seesAll ? event.payload : null,
    }),
  );
  const shelves = shelvesOf(plan);
  const takes = schedule && estimate(kiln, schedule, settings, cooling);
  return {
    load: now,
    levels: levelsOf(now, shelves, shown, events),
    pieces: piecesOf(now, shelves, found, rows, seesAll),
    checks: seesChecks ? await checksOf(read, row, kiln, found.filter(isPlanned)) : [],
    fits: isOpen
      ? stillFits(problem, plan).flatMap(({ levelIndex, ...fit }) => {
          const shelf = shelves[levelIndex];
          return shelf ? [{ ...shelf, ...fit }] : [];
        })
      : [],
    events: shown,
    estimate: takes,
    opens: downAbout(now, 'open', { takes, settings, cooling, now: read.now }),
    notYetIn: waiting
      .filter((piece) => !rows.some((one) => one.number === piece.number))
      .sort((a, b) => Number(b.isReady) - Number(a.isReady)),
  };
}

function levelsOf(
  { plan }: LoadNow,
  shelves: Shelf[],
  shown: LoadEvent[],
  events: { number: number; kind: string; voids: number | null; payload: unknown }[],
): LoadLevel[] {
  const ticks = standing(events).filter(({ kind }) => kind === 'level-loaded');
  return plan.levels.map(({ baseMm, posts }, levelIndex) => {
    const shelf = shelves[levelIndex] as Shelf;
    const tick = ticks.find(({ payload }) => keyOf(payload as LevelTick) === keyOf(shelf));
    const event = tick && shown.find((one) => one.number === tick.number);
    return {
      ...shelf,
      levelIndex,
      baseMm,
      posts,
      tick: event
        ? {
            event: event.number,
            at: event.happenedAt,
            by: event.by,
            notIn: (tick.payload as LevelTick).notIn,
            photo: event.photo,
            why: event.note,
          }
        : null,
    };
  });
}

function piecesOf(
  { plan, problem, wishes }: LoadNow,
  shelves: Shelf[],
  found: PieceNow[],
  rows: store.LoadPieceRow[],
  seesAll: boolean,
): LoadPiece[] {
  return plan.levels.flatMap(({ pieces }, levelIndex) =>
    pieces.flatMap(({ id, xMm, yMm, turned, zMm }): LoadPiece[] => {
      const piece = found.find((one) => one.number === Number(id));
      if (!piece) return [];
      const isTold = seesAll || piece.isMine;
      const shelf = shelves[levelIndex] as Shelf;
      const asked = problem.pieces.find((one) => one.id === id);
      return [
        {
          number: piece.number,
          form: piece.form,
          ...asItStands(piece.asPacked, asked),
          ...shelf,
          xMm,
          yMm,
          turned,
          zMm,
          trayMm: asked?.tray ?? 0,
          owner: isTold ? (piece.owner?.name ?? null) : null,
          mine: piece.isMine,
          isIn: rows.find((one) => one.number === piece.number)?.isIn ?? null,
          isRunny: piece.glazes.some(({ isRunny }) => isRunny),
          pin: wishes.pins[id] ?? null,
          glazes: isTold ? piece.glazes.map(({ bucket, own }) => bucket?.name ?? own?.name ?? '') : [],
          clay: isTold ? (piece.clay?.name ?? piece.ownClay) : null,
          wantedBy: isTold ? piece.wantedBy : null,
        },
      ];
    }),
  );
}

/** On edge a piece covers its larger side by its height, and is as tall as it is round or as its smaller side. */
function asItStands(size: PieceNow['asPacked'], asked: Piece | undefined): PieceNow['asPacked'] {
  const isOnEdge = typeof asked?.stack === 'object' && asked.stack.kind === 'on-edge' && !asked.tray;
  if (!isOnEdge) return size;
  const { footprint, heightMm } = size;
  const sides =
    footprint.shape === 'circle'
      ? [footprint.diameterMm, footprint.diameterMm]
      : [footprint.widthMm, footprint.depthMm];
  return {
    footprint: { shape: 'rectangle', widthMm: Math.max(...sides), depthMm: heightMm },
    heightMm: Math.min(...sides),
  };
}
