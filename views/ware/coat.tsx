import type { BucketNow } from '../../server/buckets/service/index.ts';
import { STATE_WORDS } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import type { Dwell } from '../../server/ware/dwell.ts';
import type { Clay } from '../../server/ware/service/clays.ts';
import type { CoatAdvice, CoatPair, FittedTile } from '../../server/ware/service/coat.ts';
import { type CoatTile, tileAgainstBucket } from '../../server/ware/service/coat-tiles.ts';
import { Beside, Form, Select, Submit, TextArea } from '../ui/field.tsx';
import { State } from '../ui/icons.tsx';
import { Empty, Flash, Links, More, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act } from '../ui/verdict.tsx';
import { CoatChart } from './coat-chart.tsx';

/** Where the advice for a pair is. */
export const coatAt = (clayId: number, code: string): string => `/bench/coat?clay=${clayId}&bucket=${code}`;

/** 'count 3 to 4' */
export const countWords = ({ counts }: Pick<Dwell, 'counts'>): string =>
  counts === null
    ? 'no count to go by'
    : `count ${counts.from === counts.to ? counts.from : `${counts.from} to ${counts.to}`}`;

/** What is said of a dwell under its count, which is not said twice. */
export function withoutCount(dwell: Dwell): string {
  const said = `${countWords(dwell).replace(/^c/, 'C')}. `;
  return dwell.words.startsWith(said) ? dwell.words.slice(said.length) : dwell.words;
}

/** 'Before: count 2 to 5. Now: count 3 to 4.' */
export const tightened = (before: Dwell, now: Dwell): string =>
  countWords(before) === countWords(now)
    ? `Still ${countWords(now)}.`
    : `Before: ${countWords(before)}. Now: ${countWords(now)}.`;

interface CoatPageProps {
  clays: Pick<Clay, 'id' | 'name'>[];
  buckets: BucketNow[];
  chosen: { clayId: number | null; bucket: string | null };
  advice: CoatAdvice | null;
  /** Other pairs that have a tile. */
  pairs: CoatPair[];
  done: string | null;
  /** The tiles of this page's table, and where the next ones are. */
  tiles: FittedTile[];
  older: string | null;
  newest: string | null;
  reader: Reader;
}

/** What to count for a clay in a bucket today. */
export function CoatPage({
  clays,
  buckets,
  chosen,
  advice,
  pairs,
  done,
  tiles,
  older,
  newest,
  reader,
}: CoatPageProps) {
  return (
    <>
      {done && <Flash words={done} />}
      <h1>How long to dip</h1>
      {advice && <Count advice={advice} />}
      <Form action="/bench/coat" method="get">
        <Beside>
          <Select
            name="clay"
            label="Clay"
            none={chosen.clayId === null ? 'Choose' : undefined}
            value={chosen.clayId === null ? undefined : String(chosen.clayId)}
            options={clays.map(({ id, name }) => ({ value: String(id), label: name }))}
          />
          <Select
            name="bucket"
            label="Bucket"
            none={chosen.bucket === null ? 'Choose' : undefined}
            value={chosen.bucket ?? undefined}
            options={buckets.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
          />
        </Beside>
        <Submit label="Show the count" look={advice ? 'plain' : 'do'} />
      </Form>
      {advice && <Proof {...{ advice, tiles, older, newest, reader }} />}
      {pairs.length > 0 && (
        <More summary="Other clays and buckets" open={!advice}>
          <ul>
            {pairs.map(({ clayId, clay, code, bucket, tiles: many }) => (
              <li key={`${clayId} ${code}`}>
                <a href={coatAt(clayId, code)}>
                  {clay} in {bucket}
                </a>
                , {many} {many === 1 ? 'tile' : 'tiles'}
              </li>
            ))}
          </ul>
        </More>
      )}
      <Links
        label="Around the bench"
        links={[
          ['/bench', 'Dry racks'],
          ['/ware', 'My ware'],
        ]}
      />
    </>
  );
}

function Count({ advice }: { advice: CoatAdvice }) {
  const { clay, bucket, gravity, dwell, wantedMm, fit } = advice;
  const { state } = bucket.verdict;
  return (
    <section class="panel coat-count">
      <h2>
        {clay.name} in {bucket.name}
      </h2>
      <p class="big-count" data-announce={countWords(dwell)}>
        {countWords(dwell)}
      </p>
      <p>{withoutCount(dwell)}</p>
      <p class="row">
        <State state={state} words={STATE_WORDS[state]} />
        <a href={`/buckets/${bucket.code}`}>
          {bucket.name} {bucket.code}
          {gravity === null ? ', gravity not known' : `, gravity ${gravity.toFixed(2)}`}
        </a>
      </p>
      <p class="soft">
        {fit.basis === 'none'
          ? `Wanted are ${wantedMm.toFixed(2)} mm of dry coat; no tile says yet what a count leaves.`
          : `For ${wantedMm.toFixed(2)} mm of dry coat.`}
      </p>
    </section>
  );
}

interface ProofProps extends Pick<CoatPageProps, 'tiles' | 'older' | 'newest' | 'reader'> {
  advice: CoatAdvice;
}

function Proof({ advice, tiles, older, newest, reader }: ProofProps) {
  const { clay, bucket } = advice;
  const area = advice.tiles[0]?.areaCm2;
  const toAdd = `/bench/tiles/new?clay=${clay.id}&bucket=${bucket.code}${area === undefined ? '' : `&area=${area}`}`;
  if (advice.tiles.length === 0)
    return (
      <>
        {advice.curve.length > 0 && (
          <Panel title="What other clays and buckets say">
            <CoatChart {...advice} />
          </Panel>
        )}
        <Empty title="No tile of this clay in this bucket yet">
          <p>
            Five tiles, dipped for different counts and weighed before and after, tell how thick a coat gets.
          </p>
          {reader.technician && <Act href={toAdd} label="Add a tile" />}
        </Empty>
      </>
    );
  return (
    <>
      <Panel title="Tiles">
        <CoatChart {...advice} />
        <TileTable tiles={tiles} reader={reader} />
        <Pages newest={newest} older={older} olderWords="Older tiles" />
      </Panel>
      {reader.technician && <Act href={toAdd} label="Add a tile" />}
    </>
  );
}

function TileTable({ tiles, reader }: { tiles: FittedTile[]; reader: Reader }) {
  return (
    <Table
      caption="The newest first"
      columns={[
        { label: 'Count', main: true },
        { label: 'Dry coat, mm', number: true, keepLabel: true },
        { label: 'Dry coat, g/cm²', number: true, keepLabel: true },
        { label: 'Gravity', number: true, keepLabel: true },
        { label: 'When', keepLabel: true },
        { label: 'What of it', wraps: true },
      ]}
      rows={tiles.map((tile) => ({
        key: tile.id,
        struck: tile.struck !== null,
        cells: [
          `${tile.seconds} s`,
          tile.mm.toFixed(2),
          tile.gramsPerCm2.toFixed(4),
          tile.specificGravity.toFixed(2),
          `${shownTime(tile.at, reader.now, reader.timeZone)}, ${tile.by.name}`,
          <TileWords key="words" tile={tile} reader={reader} />,
        ],
      }))}
    />
  );
}

function TileWords({ tile, reader }: { tile: FittedTile; reader: Reader }) {
  const { struck } = tile;
  const words = [
    struck && `Struck out by ${struck.by}: ${struck.why}`,
    !struck && tile.isLeftOut && 'Left out: it fits none of the others.',
    tile.dryGrams !== null && 'Weighed dry.',
    tileAgainstBucket(tile),
    tile.note,
  ].filter(Boolean);
  return (
    <>
      {words.join(' ')}
      {!struck && reader.technician && (
        <>
          {' '}
          <a
            class="plain"
            href={`/bench/tiles/${tile.id}/strike`}
            aria-label={`Strike out the tile of ${tile.seconds} s`}
          >
            Strike out
          </a>
        </>
      )}
    </>
  );
}

interface StrikeTileProps {
  tile: CoatTile;
  form: FormState;
  newKey: string;
}

/** Asks why a tile does not count. */
export function StrikeTilePage({ tile, form, newKey }: StrikeTileProps) {
  return (
    <>
      <h1>Strike out a tile</h1>
      <p class="narrow">
        {tile.clay.name} in bucket {tile.bucket}: {tile.seconds} s, {tile.mm.toFixed(2)} mm. It stays on the
        list, crossed out, and counts no more.
      </p>
      {tile.struck ? (
        <p>
          It is struck out already, by {tile.struck.by}: {tile.struck.why}
        </p>
      ) : (
        <Form action={`/bench/tiles/${tile.id}/strike`} form={form} idempotencyKey={newKey}>
          <TextArea
            name="why"
            label="Why"
            hint="Such as: it dripped on the scale."
            rows={2}
            maxlength={200}
          />
          <Submit label="Strike it out" look="plain danger" />
        </Form>
      )}
      <p>
        <a href={coatAt(tile.clay.id, tile.bucket)}>Back to the tiles</a>
      </p>
    </>
  );
}
