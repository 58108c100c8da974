import { and, asc, eq, type SQL, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import type { CoatFace } from '../route.ts';
import { clays, pieces } from '../schema.ts';
import { firedBefore, LISTS, sinceStage, sinceWait } from './desk.ts';
import { isBisqued, isOnce } from './pieces.ts';

// Counts of what lies about: Today asks for them every minute, and pieces themselves are far more to read.

/** How many, and since when the first of them; null for none. */
export interface Tally {
  count: number;
  oldest: Instant | null;
}

async function tally(db: Executor, where: SQL | undefined, since: SQL<Instant>): Promise<Tally> {
  const [row] = await db
    .select({
      count: sql<number>`count(*)::int`,
      oldest: sql<Instant | null>`min(${since})`.mapWith(pieces.stageSince),
    })
    .from(pieces)
    .where(where);
  return row ?? { count: 0, oldest: null };
}

/** Neither fired nor felt to be dry, and handed in. */
export const toFeel = (db: Executor): Promise<Tally> => tally(db, LISTS.toFeel, sinceWait);

/** On the shelf without names, where somebody said that it is theirs. */
export const claimed = (db: Executor): Promise<Tally> =>
  tally(
    db,
    and(
      LISTS.noName,
      sql`exists (select 1 from piece_events e where e.piece_id = ${pieces.id} and e.kind = 'claimed')`,
    ),
    sinceStage,
  );

/** Fired before this, and still here. */
export const overdue = (db: Executor, before: Instant): Promise<Tally> =>
  tally(db, firedBefore(before), sinceStage);

/** Whose the fired pieces are that have lain here since before this. */
export async function toFetch(
  db: Executor,
  before: Instant,
): Promise<{ number: number; since: Instant; personId: number | null; groupId: number | null }[]> {
  return db
    .select({
      number: pieces.number,
      since: pieces.stageSince,
      personId: pieces.ownerId,
      groupId: pieces.ownerGroupId,
    })
    .from(pieces)
    .where(and(firedBefore(before), sql`num_nonnulls(${pieces.ownerId}, ${pieces.ownerGroupId}) > 0`))
    .orderBy(asc(pieces.number));
}

export const returned = (db: Executor): Promise<Tally> => tally(db, LISTS.returned, sinceStage);

/** A piece by its number, and since when it waits. */
export interface Named {
  number: number;
  since: Instant;
}

/**
 * Every coat that is on a piece, with the cones it takes, as `glazesOn` reads them; what else tells raw coats over one
 * another apart only where there is more than one.
 */
const coats = sql<string>`coalesce((
  select json_agg(json_build_object(
    'coneFrom', case when g.own_name is null then g.cone_from else coalesce(g.own_cone_from, g.own_cone_to, '') end,
    'coneTo', case when g.own_name is null then coalesce(g.cone_to, g.cone_from) else coalesce(g.own_cone_to, '') end,
    'isOwn', g.own_name is not null,
    'isFired', g.load is not null,
    'over', case when g.raw > 1 then json_build_object(
      'code', g.code, 'face', g.face, 'mm', coalesce(g.scratch_mm, g.coat_mm), 'trayMm', coalesce(g.tray_mm, 0)) end)
    order by g.position)
  from (
    select p.*, b.code, b.cone_from, b.cone_to, t.tray_mm, count(*) filter (where p.load is null) over () as raw
    from piece_glazes p
    left join buckets b on b.id = p.bucket_id left join glaze_traits t on t.bucket_id = p.bucket_id
    where p.piece_id = ${pieces.id} and p.ended_at is null) g)::text, '[]')`;

interface DryFrom {
  thickAboveMm: number;
  dryBefore: Instant;
}

/** Waiting pieces, each with what gates look at, and what of it tells them apart. */
function eachWaiting(db: Executor, { thickAboveMm, dryBefore }: DryFrom) {
  const isThin = sql`${pieces.thickestMm} <= ${thickAboveMm}`;
  const isOld = sql`${pieces.dryAt} <= ${new Date(dryBefore).toISOString()}::timestamptz`;
  const each = db
    .select({
      number: pieces.number,
      stage: pieces.stage,
      kind: pieces.kind,
      cone: pieces.cone,
      atmosphere: pieces.atmosphere,
      maxCone: clays.maxCone,
      bisqueCone: clays.bisqueCone,
      isBisqued: isBisqued.as('is_bisqued'),
      isOnce: isOnce.as('is_once'),
      isDry: sql<boolean>`${pieces.dryAt} is not null and (${isThin} or ${isOld})`.as('is_dry'),
      needsHole: sql<boolean>`${pieces.isClosed} and not ${pieces.hasHole}`.as('needs_hole'),
      isWiped: sql<boolean>`${pieces.footAt} is not null`.as('is_wiped'),
      hasYes: sql<boolean>`${pieces.yesAt} is not null`.as('has_yes'),
      isFlagged: sql<boolean>`${pieces.flag} is not null`.as('is_flagged'),
      coats: coats.as('coats'),
      since: sinceWait.as('since'),
      waitingSince: pieces.waitingSince,
      wantedBy: pieces.wantedBy,
      footprint: pieces.footprint,
      widthMm: pieces.widthMm,
      depthMm: pieces.depthMm,
      heightMm: pieces.heightMm,
      measured: pieces.measured,
      dryShrinkPercent: clays.dryShrinkPercent,
    })
    .from(pieces)
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .where(LISTS.waits)
    .as('each');
  const facts = {
    stage: each.stage,
    kind: each.kind,
    cone: each.cone,
    atmosphere: each.atmosphere,
    maxCone: each.maxCone,
    bisqueCone: each.bisqueCone,
    isBisqued: each.isBisqued,
    isOnce: each.isOnce,
    isDry: each.isDry,
    needsHole: each.needsHole,
    isWiped: each.isWiped,
    hasYes: each.hasYes,
    isFlagged: each.isFlagged,
    coats: each.coats,
  };
  return { each, facts };
}

/**
 * Waiting pieces that no gate tells apart, counted; the ones that have waited longest first. `isDry`: felt, and thick
 * ware before `dryBefore`. `first` of each are named by their numbers, with since when they wait.
 */
export async function waitingAlike(db: Executor, { first, ...dry }: DryFrom & { first: number }) {
  const { each, facts } = eachWaiting(db, dry);
  const oldest = sql<Instant>`min(${each.since})`.mapWith(pieces.stageSince);
  const one = sql`json_build_object('number', ${each.number}, 'since', extract(epoch from ${each.since}) * 1000)`;
  const named = (many: number) =>
    many === 0
      ? sql<Named[]>`'[]'::json`
      : sql<Named[]>`to_json((array_agg(${one} order by ${each.since}, ${each.number}))[1:${many}])`;
  const rows = await db
    .select({ ...facts, count: sql<number>`count(*)::int`, oldest, named: named(first) })
    .from(each)
    .groupBy(...Object.values(facts))
    .orderBy(asc(oldest));
  return rows.map(({ maxCone, bisqueCone, coats: onIt, ...row }) => ({
    ...row,
    clay: maxCone === null || bisqueCone === null ? null : { maxCone, bisqueCone },
    glazes: JSON.parse(onIt) as Coat[],
  }));
}

interface Coat {
  coneFrom: string | null;
  coneTo: string | null;
  isOwn: boolean;
  isFired: boolean;
  /** Where more than one of them is raw. */
  over: { code: string | null; face: CoatFace; mm: number | null; trayMm: number } | null;
}

export type Alike = Awaited<ReturnType<typeof waitingAlike>>[number];

/** Waiting pieces that neither a gate nor their size tells apart, in no order, each with its number and its times. */
export async function waitingOfASize(db: Executor, dry: DryFrom) {
  const { each, facts } = eachWaiting(db, dry);
  const size = {
    footprint: each.footprint,
    widthMm: each.widthMm,
    depthMm: each.depthMm,
    heightMm: each.heightMm,
    measured: each.measured,
    dryShrinkPercent: each.dryShrinkPercent,
  };
  const since = sql`round(extract(epoch from ${each.waitingSince}) * 1000)`;
  const one = sql`json_build_array(${each.number}, ${since}, ${each.wantedBy})`;
  const rows = await db
    .select({
      ...facts,
      ...size,
      pieces: sql<[number: number, since: Instant | null, wantedBy: string | null][]>`json_agg(${one})`,
    })
    .from(each)
    .groupBy(...Object.values(facts), ...Object.values(size));
  return rows.map(({ maxCone, bisqueCone, dryShrinkPercent, coats: onIt, ...row }) => ({
    ...row,
    clay:
      maxCone === null || bisqueCone === null || dryShrinkPercent === null
        ? null
        : { maxCone, bisqueCone, dryShrinkPercent },
    glazes: JSON.parse(onIt) as Coat[],
  }));
}
