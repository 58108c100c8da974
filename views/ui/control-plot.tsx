import { placeLabels, scaleFor, short } from './plot.ts';
import { AdditionLabels, AdditionLines, PlotFrame } from './plot-frame.tsx';
import { Key, KeyLine, Mark } from './trend.tsx';

interface Limits {
  low: number;
  high: number;
}

interface ControlPlotProps {
  /** In their order, evenly apart: how long lies between them does not matter here. */
  values: number[];
  /** Fewer marks than places: the first values have none. */
  skipped?: number;
  centre: number;
  /** One pair for all, or one for each value. */
  limits: Limits | Limits[];
  /** What is said of a value, by its place. */
  looks?: Map<number, 'above' | 'below' | 'row'>;
  /** Changes, by the place of the first value after each. */
  changes: { before: number; label: string }[];
  /** What to write under a place. */
  days: { place: number; label: string }[];
  /** The plot in words. */
  alternative: string;
  /** Its lines in words, with their figures. */
  lines: { limit: string; centre: string };
  points: string;
}

const BOTTOM = 11.8;

/** Values in their order against what is usual: a centre line with limits to both sides. */
export function ControlPlot(props: ControlPlotProps) {
  const { values, skipped = 0, centre, looks = new Map(), days, alternative, lines } = props;
  const places = values.length + skipped;
  const limits = values.map((_, i) =>
    Array.isArray(props.limits) ? (props.limits[i] as Limits) : props.limits,
  );
  const scale = scaleFor([...values, ...limits.flatMap(({ low, high }) => [low, high])]);
  const x = (place: number) => (100 * (place + 0.5)) / places;
  const xOfChange = (before: number) => x(before - 0.5);
  const changes = placeLabels(
    props.changes.map(({ before, label }) => ({ at: before, label })),
    xOfChange,
  );
  const top = 0.9 + Math.max(0, ...changes.map(({ row }) => row ?? 0));
  const y = (value: number) => top + ((BOTTOM - top) * (scale.max - value)) / (scale.max - scale.min);
  const line = (heights: number[]) =>
    heights.map((height, i) => `${i === 0 ? 'M' : 'L'}${short(x(i + skipped))} ${short(y(height))}`).join('');
  const said = new Set(looks.values());

  return (
    <PlotFrame
      kind="control"
      alternative={alternative}
      bottom={BOTTOM}
      steps={scale.ticks.map((tick) => ({ at: y(tick), label: tick.toFixed(scale.decimals) }))}
      places={days.map(({ place, label }) => ({ at: x(place), label, anchor: anchorAt(x(place)) }))}
      paths={
        <>
          <path class="centre" d={`M0 ${short(y(centre))}H100`} />
          <path
            class="reach"
            d={
              Array.isArray(props.limits)
                ? line(limits.map(({ high }) => high)) + line(limits.map(({ low }) => low))
                : `M0 ${short(y(props.limits.high))}H100M0 ${short(y(props.limits.low))}H100`
            }
          />
          <AdditionLines additions={changes} x={xOfChange} top={top} bottom={BOTTOM} />
          <path class="line" d={line(values)} />
        </>
      }
      legend={
        <>
          <Key look="in" words={props.points} />
          {said.has('above') && <Key look="above" words="out, above" />}
          {said.has('below') && <Key look="below" words="out, below" />}
          {said.has('row') && <Key look="row" words="in a row on one side" />}
          <KeyLine look="centre" words={lines.centre} />
          <KeyLine look="reach" words={lines.limit} />
        </>
      }
    >
      <AdditionLabels additions={changes} x={xOfChange} />
      {values.map((value, i) => (
        <Mark key={i} x={x(i + skipped)} y={y(value)} look={looks.get(i) ?? 'in'} />
      ))}
    </PlotFrame>
  );
}

const anchorAt = (x: number) => (x < 6 ? 'start' : x > 94 ? 'end' : 'middle');
