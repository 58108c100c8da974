import { z } from 'zod';
import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { choice, count } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { coatBand, coatBandWords, countBand, GRAVITY_BAND_WORDS } from '../../ware/coat-bands.ts';
import { FIRING_KINDS, type FiringKind } from '../../ware/firing.ts';
import { OUTCOMES, type Outcome } from '../../ware/outcome.ts';
import type { CoatFace } from '../../ware/route.ts';
import { wareSettings } from '../../ware/service/index.ts';
import { type FaultRow, faultRows, type Share, shareOf, totals } from '../fault-shares.ts';
import * as store from '../store/faults.ts';

export const faultsForm = z.strictObject({
  /** One fault; without it all of them together. */
  outcome: choice(OUTCOMES).optional(),
  kind: choice(FIRING_KINDS).optional(),
  /** Unloaded in the last so many days; without it ever. */
  days: count(1, 3650).optional(),
});
export type FaultsAsked = z.output<typeof faultsForm>;

/** What one thing has to do with faults; `href` leads to it. */
export interface FaultLine extends Omit<FaultRow, 'key' | 'outcomes'> {
  words: string;
  href: string | null;
  /** Where else it leads, such as the batch of a bucket. */
  more: { words: string; href: string } | null;
  outcomes: { outcome: Outcome; count: number }[];
}

/** A pot that did not come out as it should, with what it was glazed from. */
export interface FaultyPiece {
  number: number;
  form: string;
  outcome: Outcome;
  load: number;
  level: number | null;
  kind: FiringKind;
  kiln: { code: string; name: string };
  clay: string | null;
  unloadedAt: Instant | null;
  glazes: {
    code: string;
    name: string;
    batch: number | null;
    reading: number | null;
    gravity: number | null;
    position: number;
    face: CoatFace;
    /** So long in the glaze, or the glaze in it; null where nobody counted. */
    seconds: number | null;
    /** Dry, as scratched or else as estimated then. */
    coatMm: number | null;
  }[];
}

export interface FaultTables {
  /** Of all pieces fired in that time. */
  overall: Share;
  outcomes: { outcome: Outcome; count: number }[];
  buckets: FaultLine[];
  batches: FaultLine[];
  readings: FaultLine[];
  levels: FaultLine[];
  kilns: FaultLine[];
  clays: FaultLine[];
  /** By all coats on the outside together, by the count of the last one's dip, by the gravity it was dipped at. */
  coats: FaultLine[];
  counts: FaultLine[];
  gravities: FaultLine[];
  pieces: FaultyPiece[];
}

const MOST_PIECES = 60;

/**
 * Which bucket, batch, reading, level, kiln and clay, and which coat, count and gravity goes with which fault, with how
 * many pieces each share rests on.
 */
export async function faultTables(read: Read, asked: FaultsAsked): Promise<FaultTables> {
  mustBeAllowed(read.actor, 'faults.see');
  const { outcome, kind, days } = asked;
  const filter = { kind, since: days === undefined ? undefined : read.now - days * DAY };
  const [byPlace, byBucket, byCoat, settings, found] = await Promise.all([
    store.outcomesByPlace(read.tx, filter),
    store.outcomesByBucket(read.tx, filter),
    store.outcomesByCoat(read.tx, filter),
    wareSettings(read),
    store.faultyPieces(read.tx, { ...filter, outcome, limit: MOST_PIECES }),
  ]);
  const glazes = await store.glazesThen(
    read.tx,
    found.map(({ pieceId }) => pieceId),
    found.map(({ load }) => load),
  );
  const isFault = (one: string) => (outcome === undefined ? one !== 'good' : one === outcome);
  const { all, outcomes } = totals(byPlace);
  const overall = shareOf(
    outcomes.reduce((sum, one) => sum + (isFault(one.outcome) ? one.count : 0), 0),
    all,
  );
  const lines = <R extends { outcome: string; count: number }>(
    rows: readonly R[],
    keyOf: (row: R) => string | null,
    of: (row: R) => Pick<FaultLine, 'words' | 'href'> & { more?: FaultLine['more'] },
  ): FaultLine[] => {
    const known = new Map(rows.map((row) => [keyOf(row), row] as const));
    const counts = rows.flatMap((row) => {
      const key = keyOf(row);
      return key === null ? [] : [{ key, outcome: row.outcome, count: row.count }];
    });
    return faultRows(counts, overall.share, isFault).map(({ key, outcomes, ...rest }) => ({
      more: null,
      ...of(known.get(key) as R),
      ...rest,
      outcomes: outcomes as FaultLine['outcomes'],
    }));
  };
  const bucketOf = (row: { code: string; name: string }) => ({
    words: `${row.name} ${row.code}`,
    href: `/buckets/${row.code}`,
  });
  return {
    overall,
    outcomes: outcomes.filter(({ outcome: one }) => one !== 'good') as FaultTables['outcomes'],
    buckets: lines(byBucket, ({ code }) => code, bucketOf),
    batches: lines(
      byBucket,
      ({ code, batch }) => (batch === null ? null : `${code} ${batch}`),
      (row) => ({
        words: `${row.name} ${row.code}, batch ${row.batch}`,
        href: `/batches/${row.batch}`,
        more: { words: 'bucket', href: `/buckets/${row.code}` },
      }),
    ),
    readings: lines(
      byBucket,
      ({ code, reading }) => (reading === null ? null : `${code} ${reading}`),
      (row) => ({
        words: `${row.name} ${row.code}${row.gravity === null ? '' : ` at ${row.gravity.toFixed(2)}`}, number ${row.reading}`,
        href: `/buckets/${row.code}/ledger`,
        more: row.batch === null ? null : { words: `batch ${row.batch}`, href: `/batches/${row.batch}` },
      }),
    ),
    levels: lines(
      byPlace,
      ({ code, level }) => (level === null ? null : `${code} ${level}`),
      (row) => ({ words: `${row.name}, level ${row.level}`, href: `/kilns/${row.code}` }),
    ),
    kilns: lines(
      byPlace,
      ({ code }) => code,
      (row) => ({ words: row.name, href: `/kilns/${row.code}` }),
    ),
    clays: lines(
      byPlace,
      ({ clay }) => clay ?? '',
      ({ clay }) => ({ words: clay ?? 'a clay from outside', href: clay === null ? null : '/clays' }),
    ),
    coats: lines(
      byCoat,
      ({ hundredths }) => (hundredths === null ? null : coatBand(hundredths / 100, settings)),
      ({ hundredths }) => ({
        words: coatBandWords(coatBand((hundredths ?? 0) / 100, settings), settings),
        href: null,
      }),
    ),
    counts: lines(
      byCoat,
      ({ counts }) => (counts === null ? null : countBand(counts)),
      ({ counts }) => ({ words: countBand(counts ?? 0), href: null }),
    ),
    gravities: lines(
      byCoat,
      ({ band }) => band,
      ({ band }) => ({ words: GRAVITY_BAND_WORDS[band ?? 'in'], href: null }),
    ),
    pieces: found.map(({ pieceId, kilnCode, kilnName, ...row }) => ({
      ...row,
      outcome: row.outcome as Outcome,
      kiln: { code: kilnCode, name: kilnName },
      glazes: glazes.flatMap(({ load, pieceId: of, ...glaze }) =>
        load === row.load && of === pieceId ? [glaze] : [],
      ),
    })),
  };
}
