import type { Reader } from '../../server/buckets/actions/reader.ts';
import { COVERAGE_95 } from '../../server/buckets/gravity.ts';
import { cardWords } from '../../server/buckets/sentences.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { STATE_WORDS, type StateName } from '../../server/buckets/verdict.ts';
import type { Arrangement } from '../../server/buckets/wall.ts';
import { type BucketCardProps, Wall } from '../ui/card.tsx';
import type { GaugeProps } from '../ui/gauge.tsx';
import { liveRegion } from '../ui/live.ts';
import { Empty, Filter, More } from '../ui/panel.tsx';
import { firingWords } from './parts.tsx';

interface BucketWallProps {
  groups: { place: string | null; buckets: BucketNow[] }[];
  count: string;
  /** Ids of those where the reader has a notice to read. */
  toRead: ReadonlySet<number>;
  how: Arrangement;
  reader: Reader;
}

interface WallPageProps extends BucketWallProps {
  cones: string[];
  states: StateName[];
  /** No bucket at all, as on the first day. */
  empty: boolean;
}

export function WallPage({ cones, states, empty, ...wall }: WallPageProps) {
  const { how, reader } = wall;
  if (empty) return <FirstDay technician={reader.technician} />;
  const filtered = how.cone !== null || how.state !== null || how.sort !== 'worst';
  return (
    <>
      <h1>Glaze wall</h1>
      <BucketWall {...wall} />
      <More summary="Sort and filter" open={filtered}>
        <Filter
          label="Sort"
          options={[
            { href: address({ ...how, sort: 'worst' }), label: 'Worst first', current: how.sort === 'worst' },
            { href: address({ ...how, sort: 'place' }), label: 'By place', current: how.sort === 'place' },
          ]}
        />
        {cones.length > 1 && (
          <Filter
            label="Cone"
            options={[null, ...cones].map((cone) => ({
              href: address({ ...how, cone }),
              label: cone ?? 'All',
              current: how.cone === cone,
            }))}
          />
        )}
        <Filter
          label="State"
          options={[null, ...states].map((state) => ({
            href: address({ ...how, state }),
            label: state === null ? 'All' : STATE_WORDS[state],
            current: how.state === state,
          }))}
        />
      </More>
      <p class="row">
        {reader.technician && (
          <>
            <a class="plain" href="/buckets/new">
              New bucket
            </a>
            <a class="plain" href="/labels">
              Labels
            </a>
            <a class="plain" href="/buckets/retired">
              Retired buckets
            </a>
          </>
        )}
        <a class="plain" href="/bench">
          Dry racks
        </a>
        <a class="plain" href="/calculator">
          Calculator
        </a>
      </p>
    </>
  );
}

/** The cards and their count; they ask for themselves again, so that a tablet on the wall stays true. */
export function BucketWall({ groups, count, toRead, how, reader }: BucketWallProps) {
  const cards = groups.map(({ place, buckets }) => ({
    place,
    cards: buckets.map((b) => card(b, reader, place === null ? 2 : 3, toRead.has(b.id))),
  }));
  return (
    <div
      id="wall"
      {...liveRegion({ on: 'wall', href: address(how), now: reader.now, until: nextTurn(groups) })}
    >
      <p class="soft" data-announce={count}>
        {count}
      </p>
      {cards.every((group) => group.cards.length === 0) && (
        <Empty title="No bucket is like that now">
          <p>
            <a href="/wall">Show all buckets</a>
          </p>
        </Empty>
      )}
      {cards.map((group) => (
        <>
          {group.place !== null && <h2>{group.place || 'No place given'}</h2>}
          <Wall cards={group.cards} />
        </>
      ))}
    </div>
  );
}

/** When the first of these stops being ready by itself; null: none is. */
export const nextTurn = (groups: BucketWallProps['groups']): number | null =>
  groups
    .flatMap(({ buckets }) => buckets.map(({ verdict }) => verdict.readyUntil))
    .reduce((first, at) => (at !== null && (first === null || at < first) ? at : first), null);

export function card(bucket: BucketNow, reader: Reader, level: 2 | 3, toRead = false): BucketCardProps {
  const { state } = bucket.verdict;
  const words = cardWords(bucket, reader);
  const place = [bucket.place, firingWords(bucket)].filter(Boolean).join(' · ');
  return {
    href: `/buckets/${bucket.code}`,
    state,
    words: STATE_WORDS[state],
    name: bucket.name,
    code: bucket.code,
    colour: bucket.colour,
    gauge: gaugeOf(bucket),
    next: words.next,
    facts: words.facts,
    note:
      [bucket.isReclaim && 'Mixed reclaim: a surprise glaze', toRead && 'A notice to read']
        .filter(Boolean)
        .join(' · ') || undefined,
    ...(place && { place }),
    level,
  };
}

export function gaugeOf({ target, facts }: Pick<BucketNow, 'target' | 'facts'>): GaugeProps {
  return {
    ...target,
    value: facts.gravity,
    uncertainty: COVERAGE_95 * facts.gravityU,
    basis: facts.gravityBasis ?? 'measured',
  };
}

function address({ sort, cone, state }: Arrangement): string {
  const query = new URLSearchParams();
  if (sort !== 'worst') query.set('sort', sort);
  if (cone !== null) query.set('cone', cone);
  if (state !== null) query.set('state', state);
  return query.size > 0 ? `/wall?${query}` : '/wall';
}

function FirstDay({ technician }: { technician: boolean }) {
  return (
    <>
      <h1>Glaze wall</h1>
      <Empty title="No bucket yet">
        {technician ? (
          <>
            <p>Say what is in the first one; its code, place and aim are enough to begin.</p>
            <a class="do" href="/buckets/new">
              Make the first bucket
            </a>
          </>
        ) : (
          <p>A technician puts the first one on the wall. It shows here as soon as it is there.</p>
        )}
      </Empty>
      <p class="row">
        <a class="plain" href="/calculator">
          Calculator
        </a>
      </p>
    </>
  );
}
