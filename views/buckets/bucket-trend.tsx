import type { Reader } from '../../server/buckets/actions/reader.ts';
import { COVERAGE_95 } from '../../server/buckets/gravity.ts';
import type { Entry } from '../../server/buckets/kinds.ts';
import type { BucketNow, BucketPage, LedgerEvent } from '../../server/buckets/service/index.ts';
import { Trend, type TrendPoint } from '../ui/trend.tsx';

interface BucketTrendProps {
  bucket: BucketNow;
  trend: BucketPage['trend'];
  /** The newest events: they hold the struck out readings. */
  ledger: LedgerEvent[];
  reader: Reader;
}

/** Three weeks of readings, with what changed the bucket between them. */
export function BucketTrend({ bucket, trend, ledger, reader }: BucketTrendProps) {
  const events = trend.events.map((e) => ({ ...e, happenedAt: e.at, voided: false }));
  const points = [...events, ...ledger.filter((e) => e.voided)].flatMap((e): TrendPoint[] =>
    e.entry.kind === 'reading'
      ? [
          {
            at: e.happenedAt,
            value: e.entry.specificGravity,
            half: COVERAGE_95 * e.entry.standardUncertainty,
            kind: e.voided ? 'voided' : e.counts ? 'measured' : 'unstirred',
          },
        ]
      : [],
  );
  const additions = events.flatMap(({ happenedAt, entry }) => {
    const label = changeWords(entry);
    return label === null ? [] : [{ at: happenedAt, label }];
  });
  return (
    <Trend
      points={points}
      additions={additions}
      {...bucket.target}
      from={trend.from}
      to={reader.now}
      timeZone={reader.timeZone}
    />
  );
}

/** What changed the composition, in two words; null for what does not. */
export function changeWords(entry: Entry): string | null {
  switch (entry.kind) {
    case 'addition':
      return { water: 'water added', dry: 'dry mixed in', slurry: 'slurry in', rinse: 'rinse in' }[
        entry.what
      ];
    case 'draw-off':
      return entry.what === 'water' ? 'water off' : null;
    case 'setup':
      return 'set up';
    case 'recipe':
      return 'new recipe';
    default:
      return null;
  }
}
