// What the plots share: they are drawn in em downwards and in per cent across, so that text keeps its size at any width.

const LABEL_ROWS = 3;
// A plot is at least this wide (px), a character about this wide: decides what would collide.
const NARROWEST = 270;
const CHARACTER = 7;

/** Round steps around all values, at most seven of them. */
export function scaleFor(values: number[]): { min: number; max: number; ticks: number[]; decimals: number } {
  const [lowest, highest] = [Math.min(...values), Math.max(...values)];
  const span = Math.max(highest - lowest, 0.02);
  const step = [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1].find((s) => span / s <= 6) ?? span / 6;
  const first = Math.floor(lowest / step + 1e-9);
  const last = Math.max(Math.ceil(highest / step - 1e-9), first + 2);
  const ticks = Array.from({ length: last - first + 1 }, (_, i) => (first + i) * step);
  return { min: first * step, max: last * step, ticks, decimals: step < 0.01 ? 3 : 2 };
}

/** Something added, its label placed. */
export interface PlacedAddition {
  at: number;
  label: string;
  /** Baseline in em; null where no row was free and only the line is drawn. */
  row: number | null;
  anchor: 'start' | 'end';
}

/** Joins equal additions that stand close together and gives each label the first row where it fits. */
export function placeLabels(
  additions: { at: number; label: string }[],
  x: (at: number) => number,
): PlacedAddition[] {
  const groups: { at: number; label: string; times: number }[] = [];
  for (const { at, label } of [...additions].sort((a, b) => a.at - b.at)) {
    const last = groups.at(-1);
    if (last?.label === label && x(at) - x(last.at) < 4) last.times++;
    else groups.push({ at, label, times: 1 });
  }
  const wanted = groups.map(({ at, label, times }) => {
    const text = times > 1 ? `${label} ×${times}` : label;
    const width = (100 * (text.length + 1) * CHARACTER) / NARROWEST;
    return x(at) + width > 100
      ? { at, label: text, anchor: 'end' as const, from: x(at) - width, to: x(at) }
      : { at, label: text, anchor: 'start' as const, from: x(at), to: x(at) + width };
  });
  // A line begins under its own label; in this order none runs through the label of another.
  const order = [
    ...wanted.filter(({ anchor }) => anchor === 'start'),
    ...wanted.filter(({ anchor }) => anchor === 'end').reverse(),
  ];
  const taken: { row: number; from: number; to: number }[] = [];
  return order.map(({ at, label, anchor, from, to }) => {
    for (let row = 0; row < LABEL_ROWS; row++) {
      if (taken.some((t) => t.row === row && t.from < to && from < t.to)) continue;
      taken.push({ row, from, to });
      return { at, label, row: 0.8 + row * 1.15, anchor };
    }
    return { at, label, row: null, anchor };
  });
}

// Making a formatter costs more than the rest of a plot.
const dayFormats = new Map<string, Intl.DateTimeFormat>();

export function dayFormat(timeZone: string, month: 'short' | 'long'): Intl.DateTimeFormat {
  const key = `${month} ${timeZone}`;
  const known = dayFormats.get(key) ?? new Intl.DateTimeFormat('en-GB', { timeZone, day: 'numeric', month });
  dayFormats.set(key, known);
  return known;
}

export const short = (value: number) => Math.round(value * 100) / 100;
export const pc = (share: number) => `${short(share)}%`;
export const em = (height: number) => `${short(height)}em`;
