export interface GaugeProps {
  low: number;
  aim: number;
  high: number;
  /** null: nothing is known yet. */
  value: number | null;
  /** Half width of the 95 % range. */
  uncertainty: number;
  basis: 'measured' | 'predicted';
  /** What is measured, for the text alternative. */
  unit?: string;
}

// A gauge is at least this wide (px), and a figure about this wide; decides which side a label hangs to.
const NARROWEST = 232;
const CHARACTER = 8;

/** Value, doubt and band on one line, the same wherever a gravity is shown. */
export function Gauge({ low, aim, high, value, uncertainty, basis, unit = 'specific gravity' }: GaugeProps) {
  const margin = 1.25 * Math.max(high - low, 1e-6);
  const [from, to] = [low - margin, high + margin];
  const x = (v: number) => 2 + (96 * (Math.min(to, Math.max(from, v)) - from)) / (to - from);
  const figure = figureFor(low, aim, high);
  const shown = value === null ? null : `${basis === 'predicted' ? 'predicted ' : ''}${figure(value)}`;
  const off = value === null || (value >= from && value <= to) ? null : value > to ? 'above' : 'below';
  return (
    <svg
      class={`gauge ${basis}`}
      role="img"
      aria-label={describe({ low, aim, high, value, uncertainty, basis, unit }, figure)}
    >
      <line class="axis" x1="0%" x2="100%" y1="2.35em" y2="2.35em" />
      <rect class="band" x={pc(x(low))} width={pc(x(high) - x(low))} y="1.85em" height="1em" rx="3" />
      <line class="aim" x1={pc(x(aim))} x2={pc(x(aim))} y1="1.7em" y2="3em" />
      <text x={pc(x(low))} y="3.9em" text-anchor="middle">
        {figure(low)}
      </text>
      <text x={pc(x(high))} y="3.9em" text-anchor="middle">
        {figure(high)}
      </text>
      {value !== null && off === null && (
        <>
          <line
            class="whisker"
            x1={pc(x(value - uncertainty))}
            x2={pc(x(value + uncertainty))}
            y1="2.35em"
            y2="2.35em"
          />
          <Mark x={x(value)} d="M0 11L-6 1H6z" />
        </>
      )}
      {off && <Mark x={x(value ?? 0)} d={off === 'above' ? 'M5 14L-5 8V20z' : 'M-5 14L5 8V20z'} />}
      <Label x={value === null ? 50 : x(value)} text={shown ?? 'not known yet'} />
    </svg>
  );
}

function Mark({ x, d }: { x: number; d: string }) {
  return (
    <svg
      class="at"
      aria-hidden="true"
      x={pc(x)}
      y="1.2em"
      width="1em"
      height="1em"
      viewBox="0 0 12 12"
      overflow="visible"
    >
      <path class="mark" d={d} />
    </svg>
  );
}

function Label({ x, text }: { x: number; text: string }) {
  const half = (100 * text.length * CHARACTER) / 2 / NARROWEST;
  const anchor = x + half > 100 ? 'end' : x - half < 0 ? 'start' : 'middle';
  const at = anchor === 'end' ? Math.min(100, x + 4) : anchor === 'start' ? Math.max(0, x - 4) : x;
  return (
    <text class="value" x={pc(at)} y="0.95em" text-anchor={anchor}>
      {text}
    </text>
  );
}

function describe(
  { low, aim, high, value, uncertainty, basis, unit }: GaugeProps,
  figure: (v: number) => string,
): string {
  const band = `the band ${figure(low)} to ${figure(high)}, aim ${figure(aim)}`;
  if (value === null) return `${unit} not known yet; ${band}`;
  const where = value > high ? 'above' : value < low ? 'below' : 'inside';
  const doubt = uncertainty > 0 ? ` ± ${uncertainty.toFixed(uncertainty < 0.0095 ? 3 : 2)}` : '';
  return `${unit} ${figure(value)}${doubt}, ${basis}, ${where} ${band}`;
}

/** Two decimals, three where the band itself needs them or where rounding would carry a value over a limit. */
function figureFor(low: number, aim: number, high: number): (v: number) => string {
  const sides = (v: number) => [v < low, v > high].join();
  const rounded = (v: number) => Number(v.toFixed(2));
  const fine = [low, aim, high].some((v) => Math.abs(v - rounded(v)) > 1e-9);
  return (v) => v.toFixed(fine || sides(v) !== sides(rounded(v)) ? 3 : 2);
}

const pc = (share: number) => `${Math.round(share * 100) / 100}%`;
