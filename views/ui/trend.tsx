import { DAY, type Instant, MINUTE } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { dayFormat, em, pc, placeLabels, scaleFor, short } from './plot.ts';
import { AdditionLabels, AdditionLines, PlotFrame } from './plot-frame.tsx';

export interface TrendPoint {
  at: Instant;
  value: number;
  /** Half width of the 95 % range. */
  half: number;
  /** Only measured points count and are joined; the others stay visible. */
  kind: 'measured' | 'unstirred' | 'voided';
}

export interface TrendProps {
  points: TrendPoint[];
  additions: { at: Instant; label: string }[];
  low: number;
  aim: number;
  high: number;
  from: Instant;
  to: Instant;
  timeZone: string;
  /** What is measured, for the text alternative. */
  unit?: string;
}

// The plot in em; across it everything is per cent, so that text keeps its size at any width.
const BOTTOM = 14.8;

/** Readings over time against their band, with what was added between them. */
export function Trend(props: TrendProps) {
  const { low, aim, high, from, to, timeZone } = props;
  const points = props.points.filter(({ at }) => at >= from && at <= to).sort((a, b) => a.at - b.at);
  if (points.length === 0)
    return <p class="soft">No readings yet in this time. The first one starts the line.</p>;

  const counting = points.filter(({ kind }) => kind === 'measured');
  const scale = scaleFor([low, high, ...points.flatMap(({ value, half }) => [value - half, value + half])]);
  const x = (at: Instant) => (100 * (at - from)) / Math.max(to - from, MINUTE);
  const additions = placeLabels(
    props.additions.filter(({ at }) => at >= from && at <= to),
    x,
  );
  const top = 0.9 + Math.max(0, ...additions.map(({ row }) => row ?? 0));
  const y = (value: number) => top + ((BOTTOM - top) * (scale.max - value)) / (scale.max - scale.min);
  const kinds = new Set(points.map(({ kind }) => kind));

  return (
    <PlotFrame
      alternative={describe({ ...props, points })}
      bottom={BOTTOM}
      steps={scale.ticks.map((tick) => ({ at: y(tick), label: tick.toFixed(scale.decimals) }))}
      places={dayTicks(from, to, timeZone).map((tick) => ({ ...tick, at: x(tick.at) }))}
      behind={<rect class="band" x="0" width="100%" y={em(y(high))} height={em(y(low) - y(high))} />}
      paths={
        <>
          <path class="limit" d={`M0 ${short(y(high))}H100M0 ${short(y(low))}H100`} />
          <path class="aim" d={`M0 ${short(y(aim))}H100`} />
          <AdditionLines additions={additions} x={x} top={top} bottom={BOTTOM} />
          <path
            class="doubt"
            d={points
              .filter(({ kind }) => kind !== 'voided')
              .map(
                ({ at, value, half }) =>
                  `M${short(x(at))} ${short(y(value + half))}V${short(y(value - half))}`,
              )
              .join('')}
          />
          <path
            class="line"
            d={counting
              .map(({ at, value }, i) => `${i === 0 ? 'M' : 'L'}${short(x(at))} ${short(y(value))}`)
              .join('')}
          />
        </>
      }
      legend={
        kinds.size > 1 && (
          <>
            <Key look="in" words="counts" />
            {kinds.has('unstirred') && <Key look="unstirred" words="not stirred" />}
            {kinds.has('voided') && <Key look="voided" words="voided" />}
          </>
        )
      }
    >
      <AdditionLabels additions={additions} x={x} />
      {points.map(({ at, value, kind }) => (
        <Mark key={at} x={x(at)} y={y(value)} look={lookOf(kind, value, low, high)} />
      ))}
    </PlotFrame>
  );
}

type Look = 'in' | 'above' | 'below' | 'row' | 'unstirred' | 'voided';

function lookOf(kind: TrendPoint['kind'], value: number, low: number, high: number): Look {
  if (kind !== 'measured') return kind;
  return value > high ? 'above' : value < low ? 'below' : 'in';
}

const SHAPES: Record<Exclude<Look, 'in'>, string> = {
  above: 'M0-5.5L5.2 4H-5.2z',
  below: 'M0 5.5L5.2-4H-5.2z',
  row: 'M0-5L5 0L0 5L-5 0z',
  unstirred: 'M-3.6 0a3.6 3.6 0 1 0 7.2 0a3.6 3.6 0 1 0-7.2 0z',
  voided: 'M-3.6-3.6L3.6 3.6M3.6-3.6L-3.6 3.6',
};

/** A point of a plot; its shape says what is to be said of it. */
export function Mark({ x, y, look }: { x: number; y: number; look: Look }) {
  if (look === 'in') return <circle class="in" cx={pc(x)} cy={em(y)} r=".26em" />;
  return (
    <svg
      class="at"
      aria-hidden="true"
      x={pc(x)}
      y={em(y)}
      width="1em"
      height="1em"
      viewBox="0 0 14 14"
      overflow="visible"
    >
      <path class={look} d={SHAPES[look]} />
    </svg>
  );
}

/** What a shape means. */
export function Key({ look, words }: { look: Look; words: string }) {
  return (
    <span>
      <svg viewBox="-7 -7 14 14" aria-hidden="true">
        {look === 'in' ? <circle class="in" r="3.6" /> : <path class={look} d={SHAPES[look]} />}
      </svg>{' '}
      {words}
    </span>
  );
}

/** What a line means; `look` is its class. */
export function KeyLine({ look, words }: { look: string; words: string }) {
  return (
    <span>
      <svg class="wide" viewBox="0 0 24 14" aria-hidden="true">
        <path class={look} d="M0 7H24" />
      </svg>{' '}
      {words}
    </span>
  );
}

interface Tick {
  at: Instant;
  label: string;
  anchor: 'start' | 'middle' | 'end';
}

/** Midnights of the studio, about four of them; times of day where all of it is within two days. */
function dayTicks(from: Instant, to: Instant, timeZone: string): Tick[] {
  const span = to - from;
  if (span < 2 * DAY)
    return [
      { at: from, label: toWallTime(from, timeZone).slice(11), anchor: 'start' },
      { at: from + span / 2, label: toWallTime(from + span / 2, timeZone).slice(11), anchor: 'middle' },
      { at: to, label: toWallTime(to, timeZone).slice(11), anchor: 'end' },
    ];
  const offset = (at: Instant) => Date.parse(`${toWallTime(at, timeZone)}Z`) - (at - (at % MINUTE));
  const usual = offset(from);
  const clocksChange = offset(to) !== usual;
  const tomorrow = Math.floor((from + usual) / DAY) + 1;
  const step = Math.ceil(span / DAY / 4);
  const ticks: Tick[] = [];
  for (let day = tomorrow; ; day += step) {
    const at = day * DAY - (clocksChange ? offset(day * DAY - usual) : usual);
    if (at > to) return ticks;
    const share = (at - from) / span;
    const anchor = share < 0.06 ? 'start' : share > 0.94 ? 'end' : 'middle';
    ticks.push({ at, label: dayFormat(timeZone, 'short').format(at), anchor });
  }
}

function describe({
  points,
  additions,
  low,
  aim,
  high,
  from,
  to,
  timeZone,
  unit = 'Specific gravity',
}: TrendProps): string {
  const day = dayFormat(timeZone, 'long');
  const figure = (v: number) => v.toFixed(2);
  const counting = points.filter(({ kind }) => kind === 'measured');
  const others = points.length - counting.length;
  const last = counting.at(-1);
  const values = counting.map(({ value }) => value);
  const sentences = [
    `${unit} from ${day.format(from)} to ${day.format(to)}: ${counting.length} ${counting.length === 1 ? 'reading' : 'readings'}` +
      (values.length > 1
        ? `, lowest ${figure(Math.min(...values))}, highest ${figure(Math.max(...values))}`
        : ''),
    last &&
      `The last, on ${day.format(last.at)}: ${figure(last.value)} ± ${figure(last.half)}, ` +
        `${last.value > high ? 'above' : last.value < low ? 'below' : 'inside'} the band ${figure(low)} to ${figure(high)}, aim ${figure(aim)}`,
    others > 0 && `${others} more ${others === 1 ? 'does' : 'do'} not count`,
    ...additions
      .filter(({ at }) => at >= from && at <= to)
      .map(({ at, label }) => `${label} on ${day.format(at)}`),
  ];
  return `${sentences.filter(Boolean).join('. ')}.`;
}
