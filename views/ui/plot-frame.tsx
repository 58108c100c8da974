import type { ComponentChildren } from 'preact';
import { em, type PlacedAddition, pc, short } from './plot.ts';

interface PlotFrameProps {
  /** Its own look, and that of its key; the trend has none. */
  kind?: string;
  /** The plot in words. */
  alternative: string;
  /** How far down its foot lies, in em. */
  bottom: number;
  /** Figures up its left side, each with a line across: how far down, in em. */
  steps: { at: number; label: string | number }[];
  /** What is written along its foot: how far across, in per cent. */
  places: { at: number; label: string | number; anchor: 'start' | 'middle' | 'end' }[];
  /** Lies behind everything. */
  behind?: ComponentChildren;
  /** Paths in per cent of its width across and em down, which stretch with it. */
  paths: ComponentChildren;
  /** Words and marks over the paths, which keep their size. */
  children: ComponentChildren;
  /** What its marks and lines mean. */
  legend?: ComponentChildren;
}

/** Axes with figures and grid, around what a plot shows. */
export function PlotFrame(props: PlotFrameProps) {
  const { kind, alternative, bottom, steps, places, behind, paths, children, legend } = props;
  return (
    <figure class="trend-figure">
      <div class={['trend', kind].filter(Boolean).join(' ')} role="img" aria-label={alternative}>
        <svg aria-hidden="true">
          {steps.map(({ at, label }) => (
            <text key={label} x="86%" y={em(at + 0.35)} text-anchor="end">
              {label}
            </text>
          ))}
        </svg>
        <svg aria-hidden="true">
          {behind}
          <svg
            aria-hidden="true"
            width="100%"
            height={em(bottom)}
            viewBox={`0 0 100 ${bottom}`}
            preserveAspectRatio="none"
            overflow="visible"
          >
            <path class="grid" d={steps.map(({ at }) => `M0 ${short(at)}H100`).join('')} />
            <path class="grid" d={places.map(({ at }) => `M${short(at)} ${bottom}v.5`).join('')} />
            {paths}
          </svg>
          {places.map(({ at, label, anchor }) => (
            <text key={at} x={pc(at)} y={em(bottom + 1.7)} text-anchor={anchor}>
              {label}
            </text>
          ))}
          {children}
        </svg>
      </div>
      {legend && (
        <figcaption class={`trend-key trend-marks${kind ? ` ${kind}-key` : ''}`}>{legend}</figcaption>
      )}
    </figure>
  );
}

interface AdditionsProps {
  additions: PlacedAddition[];
  x: (at: number) => number;
}

/** Upright lines where something was added or changed, each from under its label to the foot. */
export const AdditionLines = ({
  additions,
  x,
  top,
  bottom,
}: AdditionsProps & Record<'top' | 'bottom', number>) => (
  <path
    class="added"
    d={additions
      .map(({ at, row }) => `M${short(x(at))} ${short(row === null ? top - 0.4 : row + 0.4)}V${bottom}`)
      .join('')}
  />
);

/** What is written at those lines. */
export const AdditionLabels = ({ additions, x }: AdditionsProps) => (
  <>
    {additions.map(
      ({ at, label, row, anchor }) =>
        row !== null && (
          <text
            key={at}
            class="added-label"
            x={pc(x(at) + (anchor === 'end' ? 0.8 : -0.8))}
            y={em(row)}
            text-anchor={anchor}
          >
            {label}
          </text>
        ),
    )}
  </>
);
