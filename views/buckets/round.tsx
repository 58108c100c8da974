import type { Reader } from '../../server/buckets/actions/reader.ts';
import { type Ask, flowAsked, type Place, roundAddress, whyWords } from '../../server/buckets/round.ts';
import { cardWords } from '../../server/buckets/sentences.ts';
import type { RoundStop } from '../../server/buckets/service/index.ts';
import { gravityText, STATE_WORDS } from '../../server/buckets/verdict.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { Chip, State } from '../ui/icons.tsx';
import { Empty, Filter, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { bandWords } from './parts.tsx';

/** Why a bucket is on the list, in one line. */
export const reasons = ({ bucket, why }: RoundStop, reader: Reader): string =>
  why.map((one) => whyWords(one, bucket, reader)).join(' · ');

interface RoundPageProps {
  due: RoundStop[];
  /** How many buckets there are. */
  outOf: number;
  reader: Reader;
}

export function RoundPage({ due, outOf, reader }: RoundPageProps) {
  const of = due.map(({ bucket }) => bucket.code);
  if (due.length === 0)
    return (
      <>
        <h1>Morning round</h1>
        <Empty title="No bucket needs a check">
          <p>
            {outOf === 0
              ? 'There is no bucket yet.'
              : `All ${outOf} were read lately and lie in their bands. A bucket comes on the round by itself.`}
          </p>
          <p>
            <a href="/round/entry?all=yes">Type in a sheet</a>
          </p>
        </Empty>
      </>
    );
  return (
    <>
      <h1>Morning round</h1>
      <p class="soft">
        {due.length} of {outOf} buckets {due.length === 1 ? 'needs' : 'need'} a check, in the order of the
        wall.
      </p>
      <a class="do narrow" href={roundAddress('/round/check', { of, at: 0, since: reader.now })}>
        Start
        <small>one number a bucket</small>
      </a>
      <Panel>
        <Table
          columns={[{ label: 'Bucket', main: true }, { label: 'State' }, { label: 'Why it is on the list' }]}
          rows={due.map((stop) => ({
            key: stop.bucket.code,
            cells: [
              <BucketName stop={stop} />,
              <State state={stop.bucket.verdict.state} words={STATE_WORDS[stop.bucket.verdict.state]} />,
              reasons(stop, reader),
            ],
          }))}
        />
      </Panel>
      <p class="row">
        <a class="plain" href={roundAddress('/round/sheet', { of })}>
          Clipboard sheet
        </a>
        <a class="plain" href={roundAddress('/round/entry', { of })}>
          Type in a sheet
        </a>
        <a class="plain" href="/history">
          History
        </a>
      </p>
    </>
  );
}

function BucketName({ stop: { bucket } }: { stop: RoundStop }) {
  return (
    <>
      <Chip colour={bucket.colour} /> <a href={`/buckets/${bucket.code}`}>{bucket.name}</a>{' '}
      <span class="code">{bucket.code}</span>
      {bucket.place && <small class="soft"> {bucket.place}</small>}
    </>
  );
}

interface RoundDonePageProps {
  stops: RoundStop[];
  place: Place;
  reader: Reader;
}

export function RoundDonePage({ stops, place, reader }: RoundDonePageProps) {
  const seen = stops.filter((stop) => isSeen(stop, place));
  return (
    <>
      <h1>Round done</h1>
      <p class="soft">
        {seen.length} of {stops.length} checked.
      </p>
      {stops.length > 0 && (
        <Panel>
          <Table
            columns={[
              { label: 'Bucket', main: true },
              { label: 'Found' },
              { label: 'State' },
              { label: 'Next' },
            ]}
            rows={stops.map((stop, at) => ({
              key: stop.bucket.code,
              cells: [
                <BucketName stop={stop} />,
                isSeen(stop, place) ? found(stop, place) : 'not checked',
                <State state={stop.bucket.verdict.state} words={STATE_WORDS[stop.bucket.verdict.state]} />,
                isSeen(stop, place) ? (
                  cardWords(stop.bucket, reader).next
                ) : (
                  <a key="check" href={roundAddress('/round/check', { ...place, at })}>
                    Check {stop.bucket.name} now
                  </a>
                ),
              ],
            }))}
          />
        </Panel>
      )}
      <p class="row">
        <a class="plain" href="/today">
          Today
        </a>
        <a class="plain" href="/round">
          What still needs a check
        </a>
      </p>
    </>
  );
}

const since = (at: number | null, place: Place): boolean => at !== null && at >= place.since;

const isSeen = ({ bucket: { facts } }: RoundStop, place: Place): boolean =>
  since(facts.readingAt, place) || since(facts.flowAt, place);

function found({ bucket: { facts } }: RoundStop, place: Place): string {
  const read =
    since(facts.readingAt, place) &&
    facts.gravity !== null &&
    `SG ${gravityText(facts.gravity, facts.gravityU)}`;
  const flow = since(facts.flowAt, place) && (facts.flowWord ?? `flow ${facts.flowSeconds} s`);
  return [read, flow].filter(Boolean).join(', ');
}

/** A line to write on, with what is written there. */
function Blank({ words = [] }: { words?: string[] }) {
  return (
    <span class="blank">
      <small>{words.filter(Boolean).join(', ')}</small>
    </span>
  );
}

/** A stop with what it is measured with. */
export type RoundLine = RoundStop & { ask: Ask };

interface RoundSheetPageProps {
  lines: RoundLine[];
  place: Place;
  tools: Ask[];
  studio: string;
  reader: Reader;
}

export function RoundSheetPage({ lines, place, tools, studio, reader }: RoundSheetPageProps) {
  return (
    <>
      <h1>Morning round</h1>
      <p>
        {studio}, {toWallTime(reader.now, reader.timeZone).slice(0, 10)}. Stir each to the bottom first.
      </p>
      <div class="screen-only">
        <Tools path="/round/sheet" place={place} tools={tools} />
        <p class="row">
          <button class="plain" type="button" data-print>
            Print
          </button>
          <a class="plain" href={roundAddress('/round/entry', place)}>
            Type it in
          </a>
        </p>
      </div>
      {lines.length === 0 ? (
        <p>No bucket needs a check.</p>
      ) : (
        <Table
          columns={[
            { label: 'Bucket', main: true },
            { label: 'Code' },
            { label: 'Wanted' },
            { label: 'Read' },
            { label: 'Time' },
            { label: 'Initials' },
          ]}
          rows={lines.map(({ bucket, ask, why }) => ({
            key: bucket.code,
            cells: [
              <>
                {bucket.name}
                {bucket.place && <small class="soft"> {bucket.place}</small>}
              </>,
              bucket.code,
              bandWords(bucket.target),
              <>
                {flowAsked(why) !== 'only' && <Blank words={[ask.tool, ask.unit]} />}
                {flowAsked(why) !== null && <Blank words={['flow', 's']} />}
              </>,
              <Blank />,
              <Blank />,
            ],
          }))}
        />
      )}
      <p class="screen-only">
        <a href="/round">Back to the round</a>
      </p>
    </>
  );
}

interface ToolsProps {
  path: string;
  place: Place;
  tools: Ask[];
}

/** What to measure everything with, instead of each bucket as it was last. */
export function Tools({ path, place, tools }: ToolsProps) {
  return (
    <Filter
      label="Measured with"
      options={[
        {
          href: roundAddress(path, { ...place, with: null }),
          label: 'as last time',
          current: place.with === null,
        },
        ...tools.map(({ id, tool }) => ({
          href: roundAddress(path, { ...place, with: id }),
          label: tool,
          current: place.with === id,
        })),
      ]}
    />
  );
}
