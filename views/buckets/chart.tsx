import type { Reader } from '../../server/buckets/actions/reader.ts';
import { type ControlChart, FEWEST_POINTS, sg, signalWords } from '../../server/buckets/control-chart.ts';
import type { BucketChart } from '../../server/buckets/service/index.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { ControlPlot } from '../ui/control-plot.tsx';
import { Empty, More, Notice, Panel } from '../ui/panel.tsx';
import { dayFormat } from '../ui/plot.ts';
import { Table } from '../ui/table.tsx';
import { Act } from '../ui/verdict.tsx';
import { changeWords } from './bucket-trend.tsx';
import { bandWords, SubPage } from './parts.tsx';

type ChartPageProps = BucketChart & { reader: Reader };

export function ChartPage(props: ChartPageProps) {
  const { bucket, chart, readings } = props;
  return (
    <SubPage bucket={bucket} title="Control chart">
      {chart ? (
        <Charted {...props} chart={chart} />
      ) : (
        <Empty title="Too few readings for a chart">
          <p>
            A chart shows what is usual for this bucket, and what is not. It takes {FEWEST_POINTS} readings
            that count since {sinceWords(props)}; there {readings.length === 1 ? 'is' : 'are'}{' '}
            {readings.length === 0 ? 'none' : readings.length} yet.
          </p>
          <Act href={`/buckets/${bucket.code}/check`} label="Check SG" />
        </Empty>
      )}
    </SubPage>
  );
}

type ChartedProps = ChartPageProps & { chart: ControlChart };

function Charted(props: ChartedProps) {
  const { bucket, chart, readings } = props;
  const values = readings.map(({ value }) => value);
  const shared = { changes: changesOf(props), days: daysOf(props) };
  const limits = `limits ${sg(chart.low)} and ${sg(chart.high)}`;
  const centre = `centre ${sg(chart.centre)}`;
  const span = spanWords(props);
  const said = signalList(props);
  return (
    <>
      <Notice
        title={said.length === 0 ? 'Nothing stands out' : 'Worth a look'}
        tone={said.length === 0 ? 'ready' : 'ask-technician'}
      >
        {said.length === 0 ? (
          <p>
            {readings.length} readings since {sinceWords(props)}: no point out, no eight in a row on one side.
          </p>
        ) : (
          <>
            <ul>
              {said.map((words) => (
                <li key={words}>{words}</li>
              ))}
            </ul>
            <p>
              Not wrong, but unlike before. <a href={`/buckets/${bucket.code}/ledger`}>The ledger</a> may say
              why: water, a lid left off, a new batch, another cup or another pair of hands.
            </p>
          </>
        )}
      </Notice>
      <Panel title="Each reading, SG">
        <ControlPlot
          {...shared}
          values={values}
          centre={chart.centre}
          limits={chart}
          looks={looksOf(chart)}
          points="a reading"
          lines={{ centre, limit: limits }}
          alternative={`Specific gravity, reading by reading. ${span}, ${centre}, ${limits}. ${
            said.join(' ') || 'Nothing stands out.'
          }`}
        />
        <p class="soft">
          The limits are what this bucket usually does. What is wanted is another matter: SG{' '}
          {bandWords(bucket.target)}.
        </p>
      </Panel>
      <Smoothed {...props} shared={shared} />
      <Ranges {...props} shared={shared} />
      <More summary="The readings in figures">
        <Figures {...props} />
      </More>
      <Reckoning {...props} />
    </>
  );
}

interface PlotProps extends ChartedProps {
  shared: { changes: { before: number; label: string }[]; days: { place: number; label: string }[] };
}

function Smoothed({ chart, shared, ...props }: PlotProps) {
  const { smoothed } = chart;
  const last = smoothed.at(-1) as (typeof smoothed)[number];
  const limit = `limits, in the end ${sg(last.low)} and ${sg(last.high)}`;
  const out = smoothed.filter(({ value, low, high }) => value < low || value > high).length;
  return (
    <Panel title="Smoothed, SG">
      <ControlPlot
        {...shared}
        values={smoothed.map(({ value }) => value)}
        centre={chart.centre}
        limits={smoothed}
        points="smoothed"
        lines={{ centre: `centre ${sg(chart.centre)}`, limit }}
        alternative={
          `Smoothed specific gravity. ${spanWords({ chart, ...props })}, the last ${sg(last.value)}, ${limit}. ` +
          `${out === 0 ? 'None lies' : `${out} ${out === 1 ? 'lies' : 'lie'}`} outside them.`
        }
      />
      <p class="soft">Each counts a fifth of the new reading: a small lasting shift shows here sooner.</p>
    </Panel>
  );
}

function Ranges({ chart, shared, ...props }: PlotProps) {
  const { ranges, meanRange, highRange } = chart;
  return (
    <Panel title="From one reading to the next, SG">
      <ControlPlot
        {...shared}
        values={ranges}
        skipped={1}
        centre={meanRange}
        limits={{ low: 0, high: highRange }}
        points="a difference"
        lines={{ centre: `mean ${sg(meanRange)}`, limit: `limit ${sg(highRange)}` }}
        alternative={
          `Difference of each reading from the one before. ${spanWords({ chart, ...props })}, mean ${sg(meanRange)}, ` +
          `largest ${sg(Math.max(...ranges))}, limit ${sg(highRange)}.`
        }
      />
    </Panel>
  );
}

function Figures({ chart, readings, reader }: ChartedProps) {
  const looks = looksOf(chart);
  const remarks = { above: 'out, above', below: 'out, below', row: 'in a row on one side' };
  const rows = readings.map(({ number, at, value }, i) => ({
    key: number,
    cells: [
      shownTime(at, reader.now, reader.timeZone),
      sg(value),
      i === 0 ? '' : sg(chart.ranges[i - 1] as number),
      sg((chart.smoothed[i] as { value: number }).value),
      remarks[looks.get(i) ?? ('none' as 'row')] ?? '',
    ],
  }));
  return (
    <Table
      columns={[
        { label: 'When' },
        { label: 'SG', number: true, main: true },
        { label: 'From the one before', number: true, keepLabel: true },
        { label: 'Smoothed', number: true, keepLabel: true },
        { label: 'Remark' },
      ]}
      rows={rows.reverse()}
    />
  );
}

/** How the lines come about, for who wants to know. */
function Reckoning(props: ChartedProps) {
  const { chart, readings } = props;
  return (
    <More summary="How this is reckoned">
      <p>
        Centre: the mean of {readings.length === 60 ? 'the newest 60' : `all ${readings.length}`} readings
        that count since {sinceWords(props)}. Readings that were struck out or taken unstirred are left out.
      </p>
      <p>
        Limits of single readings: 2.660 times the mean difference from one to the next, {sg(chart.meanRange)}
        , but never nearer than 0.01, which is rounding. Limit of the differences: 3.267 times their mean.
        Smoothed with a weight of 0.2, limits at three standard deviations.
      </p>
      <p>
        Only two things are called out: one point outside the limits, and eight in a row on one side of the
        centre line; a point on a line is neither. More rules are in use elsewhere, but with all of them a
        wall of forty buckets would cry wolf every second day.
      </p>
    </More>
  );
}

/** What is said of each reading, by its place; being out outweighs being in a row. */
function looksOf({ signals }: ControlChart): Map<number, 'above' | 'below' | 'row'> {
  const looks = new Map<number, 'above' | 'below' | 'row'>();
  for (const signal of signals)
    if (signal.what === 'run') for (let at = signal.from; at <= signal.to; at++) looks.set(at, 'row');
  for (const signal of signals) if (signal.what === 'out') looks.set(signal.at, signal.side);
  return looks;
}

/** Newest first. */
const signalList = ({ chart, readings, reader }: ChartedProps) =>
  chart.signals.map((signal) => signalWords(signal, readings, chart, reader)).reverse();

function changesOf({ changes, readings }: ChartedProps): { before: number; label: string }[] {
  return changes.flatMap(({ at, number, entry }) => {
    const label = changeWords(entry);
    const after = readings.findIndex((r) => r.at > at || (r.at === at && r.number > number));
    return label === null ? [] : [{ before: after === -1 ? readings.length : after, label }];
  });
}

/** The days of about four readings. */
function daysOf({ readings, reader }: ChartedProps): { place: number; label: string }[] {
  const step = Math.ceil(readings.length / 4);
  return readings.flatMap(({ at }, place) =>
    place % step === 0 ? [{ place, label: dayFormat(reader.timeZone, 'short').format(at) }] : [],
  );
}

function spanWords({ readings, reader }: ChartedProps): string {
  const [first, last] = [readings[0], readings.at(-1)] as [{ at: number }, { at: number }];
  const day = dayFormat(reader.timeZone, 'long');
  return `${readings.length} readings from ${day.format(first.at)} to ${day.format(last.at)}`;
}

function sinceWords({ since, reader }: ChartPageProps): string {
  if (since === null) return 'the first of them';
  const what = since.what === 'setup' ? 'it was set up' : 'its recipe changed';
  return `${what}, ${shownTime(since.at, reader.now, reader.timeZone)}`;
}
