import type { CoatAdvice } from '../../server/ware/service/coat.ts';
import { scaleFor, short } from '../ui/plot.ts';
import { PlotFrame } from '../ui/plot-frame.tsx';
import { Key, KeyLine, Mark } from '../ui/trend.tsx';

type ChartProps = Pick<CoatAdvice, 'tiles' | 'curve' | 'gravity' | 'wantedMm' | 'dwell'>;

const TOP = 1;
const BOTTOM = 14.8;
/** A tile from a slurry further off than this does not lie on today's line. No source. */
const OTHER_GRAVITY = 0.015;
const SECOND_STEPS = [1, 2, 5, 10, 20, 60, 120];
const MOST_TICKS = 7;

/** Dry coat in mm over seconds: tiles, the line at today's gravity with the range of one dip, and what to count today. */
export function CoatChart({ tiles, curve, gravity, wantedMm, dwell }: ChartProps) {
  const counting = tiles.filter(({ struck }) => struck === null);
  if (counting.length === 0 && curve.length === 0) return null;
  const end = Math.max(5, curve.at(-1)?.seconds ?? 0, ...counting.map(({ seconds }) => seconds * 1.05));
  const scale = scaleFor([
    0,
    wantedMm,
    ...counting.map(({ mm }) => mm),
    ...curve.flatMap(({ mm, seconds }) => (seconds > 0 ? [mm] : [])),
  ]);
  const x = (seconds: number) => (100 * Math.min(seconds, end)) / end;
  const y = (mm: number) =>
    TOP + ((BOTTOM - TOP) * (scale.max - Math.min(mm, scale.max))) / (scale.max - scale.min);
  const line = (of: (point: ChartProps['curve'][number]) => number, points = curve) =>
    points.map((point) => `${short(x(point.seconds))} ${short(y(of(point)))}`).join('L');
  const best = curve.length > 0 ? (dwell.seconds?.best ?? null) : null;
  const todayMm = best === null ? null : coatAt(curve, best);
  const lookOf = (tile: ChartProps['tiles'][number]) =>
    tile.isLeftOut
      ? 'voided'
      : gravity !== null && Math.abs(tile.specificGravity - gravity) > OTHER_GRAVITY
        ? 'unstirred'
        : 'in';
  const looks = new Set(counting.map(lookOf));

  return (
    <PlotFrame
      kind="coat"
      alternative={describe({ tiles, curve, gravity, wantedMm, dwell })}
      bottom={BOTTOM}
      steps={scale.ticks.map((tick) => ({ at: y(tick), label: tick.toFixed(scale.decimals) }))}
      places={secondTicks(end).map((s) => ({
        at: x(s),
        label: s === 0 ? '0 s' : s,
        anchor: s === 0 ? 'start' : x(s) > 96 ? 'end' : 'middle',
      }))}
      paths={
        <>
          {curve.length > 0 && (
            <path
              class="one-dip"
              d={`M${line(({ high }) => high)}L${line(({ low }) => low, curve.toReversed())}Z`}
            />
          )}
          <path class="aim" d={`M0 ${short(y(wantedMm))}H100`} />
          {curve.length > 0 && <path class="line" d={`M${line(({ mm }) => mm)}`} />}
        </>
      }
      legend={
        <>
          {looks.has('in') && <Key look="in" words="a tile" />}
          {looks.has('unstirred') && <Key look="unstirred" words="a tile from another gravity" />}
          {looks.has('voided') && <Key look="voided" words="fits none of the others, left out" />}
          {best !== null && <Key look="row" words="today" />}
          {curve.length > 0 && <KeyLine look="line" words="today's glaze" />}
          <KeyLine look="aim" words="wanted" />
          <span>mm of dry coat over seconds{curve.length > 0 && '; four dips in five lie in the grey'}</span>
        </>
      }
    >
      {counting.map((tile) => (
        <Mark key={tile.id} x={x(tile.seconds)} y={y(tile.mm)} look={lookOf(tile)} />
      ))}
      {best !== null && todayMm !== null && <Mark x={x(best)} y={y(todayMm)} look="row" />}
    </PlotFrame>
  );
}

/** Coat in mm on the line at a dwell in seconds; the ends stand for what lies beyond them. */
function coatAt(curve: ChartProps['curve'], seconds: number): number {
  const after = curve.findIndex((point) => point.seconds >= seconds);
  const [from, to] = [curve[after - 1], curve[after === -1 ? curve.length - 1 : after]];
  if (!to) return 0;
  if (!from || after === -1) return to.mm;
  return from.mm + ((to.mm - from.mm) * (seconds - from.seconds)) / (to.seconds - from.seconds);
}

function secondTicks(end: number): number[] {
  const step = SECOND_STEPS.find((s) => end / s <= MOST_TICKS) ?? Math.ceil(end / MOST_TICKS);
  return Array.from({ length: Math.floor(end / step) + 1 }, (_, i) => i * step);
}

function describe({ tiles, curve, gravity, wantedMm, dwell }: ChartProps): string {
  const counting = tiles.filter(({ struck }) => struck === null);
  const leftOut = counting.filter(({ isLeftOut }) => isLeftOut).length;
  const [first, last] = [curve[0], curve.at(-1)];
  const sentences = [
    `Dry coat over seconds: ${counting.length} ${counting.length === 1 ? 'tile' : 'tiles'}${leftOut > 0 ? `, ${leftOut} of them left out` : ''}`,
    first &&
      last &&
      `At today's gravity${gravity === null ? '' : ` of ${gravity.toFixed(2)}`} the line rises from ${first.mm.toFixed(2)} mm to ${last.mm.toFixed(2)} mm after ${Math.round(last.seconds)} s`,
    `Wanted: ${wantedMm.toFixed(2)} mm`,
    curve.length > 0 && dwell.seconds && `Today that takes about ${dwell.seconds.best.toFixed(1)} s`,
  ];
  return `${sentences.filter(Boolean).join('. ')}.`;
}
