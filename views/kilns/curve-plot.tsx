import { QUARTZ_C } from '../../server/kilns/curve.ts';
import type { LogGap } from '../../server/kilns/firing-log.ts';
import { durationWords, type PlannedPoint } from '../../server/kilns/schedule.ts';
import { em, short } from '../ui/plot.ts';
import { PlotFrame } from '../ui/plot-frame.tsx';
import { KeyLine } from '../ui/trend.tsx';

/** What was measured at one place in the kiln, thinned to what a plot can show. */
export interface MeasuredCurve {
  /** 'Measured', or where there are two 'Top' and 'Bottom'. */
  label: string;
  points: readonly { atS: number; c: number }[];
  /** Typed by somebody: each reading is marked, and none is joined to one long before it. */
  isByHand?: boolean;
}

interface CurvePlotProps {
  /** One or two: the second is dotted. */
  measured: readonly MeasuredCurve[];
  /** Corners of the schedule, counted from the same start. */
  planned?: readonly PlannedPoint[];
  /** Stretches without readings: the first curve is not drawn through them. */
  gaps?: readonly LogGap[];
}

const TOP = 1.2;
const BOTTOM = 15.2;
const STEP_C = 200;
// At most so many figures under the plot, or they would run into each other on a phone.
const MOST_TICKS = 6;
// Between readings further apart nobody knows how it went: common practice, no source.
const MOST_APART_S = 45 * 60;
const HOUR_STEPS = [1, 2, 3, 4, 6, 8, 12, 24];

/** °C over hours since the start: what was measured against the schedule, with 573 °C marked. */
export function CurvePlot({ measured, planned = [], gaps = [] }: CurvePlotProps) {
  const curves = measured.filter(({ points }) => points.length > 0).slice(0, 2);
  const all = [...curves.flatMap(({ points }) => points), ...planned];
  if (all.length === 0)
    return <p class="soft">No readings yet. Bring in the log, or write the first one down.</p>;

  const endS = Math.max(3600, ...all.map(({ atS }) => atS));
  const topC = Math.ceil(Math.max(QUARTZ_C + 1, ...all.map(({ c }) => c)) / STEP_C) * STEP_C;
  const x = (atS: number) => (100 * atS) / endS;
  const y = (c: number) => TOP + ((BOTTOM - TOP) * (topC - Math.max(c, 0))) / topC;
  const line = (
    points: readonly { atS: number; c: number }[],
    broken: readonly LogGap[],
    mostApartS = Number.POSITIVE_INFINITY,
  ) =>
    points
      .map(({ atS, c }, i) => {
        const before = points[i - 1];
        const starts =
          !before ||
          atS - before.atS > mostApartS ||
          // Thinning may have dropped the readings on the edge of a gap, so it only has to lie between two.
          broken.some(({ fromS, toS }) => before.atS <= fromS && toS <= atS);
        return `${starts ? 'M' : 'L'}${short(x(atS))} ${short(y(c))}`;
      })
      .join('');

  return (
    <PlotFrame
      kind="firing"
      alternative={describe(curves, planned, gaps)}
      bottom={BOTTOM}
      steps={Array.from({ length: topC / STEP_C + 1 }, (_, i) => ({ at: y(i * STEP_C), label: i * STEP_C }))}
      places={hourTicks(endS).map((h) => ({
        at: x(h * 3600),
        label: h === 0 ? '0 h' : h,
        anchor: h === 0 ? 'start' : x(h * 3600) > 96 ? 'end' : 'middle',
      }))}
      paths={
        <>
          <path class="quartz" d={`M0 ${short(y(QUARTZ_C))}H100`} />
          {planned.length > 0 && <path class="plan" d={line(planned, [])} />}
          {curves.map(({ label, points, isByHand }, i) => (
            <path
              key={label}
              class={i === 0 ? 'line' : 'line second'}
              d={line(points, i === 0 ? gaps : [], isByHand ? MOST_APART_S : undefined)}
            />
          ))}
          {curves.map(({ label, points, isByHand }) =>
            isByHand ? (
              <path
                key={label}
                class="typed"
                d={points.map(({ atS, c }) => `M${short(x(atS))} ${short(y(c))}h0`).join('')}
              />
            ) : null,
          )}
        </>
      }
      legend={
        <>
          {curves.map(({ label }, i) => (
            <KeyLine key={label} look={i === 0 ? 'line' : 'line second'} words={label} />
          ))}
          {planned.length > 0 && <KeyLine look="plan" words="Schedule" />}
          <span>°C over hours since the start</span>
        </>
      }
    >
      <text class="quartz-label" x="100%" y={em(y(QUARTZ_C) - 0.4)} text-anchor="end">
        quartz {QUARTZ_C} °C
      </text>
    </PlotFrame>
  );
}

function hourTicks(endS: number): number[] {
  const hours = endS / 3600;
  const step = HOUR_STEPS.find((s) => hours / s <= MOST_TICKS) ?? Math.ceil(hours / MOST_TICKS / 24) * 24;
  return Array.from({ length: Math.floor(hours / step) + 1 }, (_, i) => i * step);
}

function describe(
  curves: readonly MeasuredCurve[],
  planned: readonly PlannedPoint[],
  gaps: readonly LogGap[],
): string {
  const highest = (points: readonly { atS: number; c: number }[]) =>
    points.reduce(
      (best, point) => (point.c > best.c ? point : best),
      points[0] as { atS: number; c: number },
    );
  const sentences = curves.map(({ label, points }) => {
    const [top, last] = [highest(points), points.at(-1) as { atS: number; c: number }];
    return (
      `${label}: highest ${Math.round(top.c)} °C after ${durationWords(top.atS)}, ` +
      `last ${Math.round(last.c)} °C after ${durationWords(last.atS)}`
    );
  });
  if (planned.length > 0) {
    const top = highest(planned);
    sentences.push(`Schedule: ${Math.round(top.c)} °C after ${durationWords(top.atS)}`);
  }
  if (gaps.length > 0)
    sentences.push(gaps.length === 1 ? 'One gap in the log' : `${gaps.length} gaps in the log`);
  return `Temperature of the firing over time. ${sentences.join('. ')}.`;
}
