import type { Obstacle, Region } from './chamber.ts';
import type { Shape } from './ware.ts';

/** Shapes are driven a little further apart than they must be, so that the driving comes to an end. */
const MARGIN_MM = 1e-3;

/**
 * Pushes overlapping shapes apart and back inside until nothing overlaps, as pots are shifted by hand to make room for
 * one more. Changes `x` and `y` in place.
 * @param shapes half extents as they stand, turned already
 * @returns whether everything is free; even then a placer has the last word
 */
export function squeeze(
  region: Region,
  obstacles: readonly Obstacle[],
  gap: number,
  shapes: readonly Shape[],
  x: Float64Array,
  y: Float64Array,
  sweeps: number,
): boolean {
  const n = shapes.length;
  const { disc, lines } = region;
  for (let sweep = 0; sweep < sweeps; sweep++) {
    let moved = 0;
    for (let i = 0; i < n; i++) {
      const a = shapes[i] as Shape;
      for (let j = i + 1; j < n + obstacles.length; j++) {
        const fixed = j >= n ? (obstacles[j - n] as Obstacle) : null;
        const b = fixed ?? (shapes[j] as Shape);
        const space = (fixed ? fixed.gap : gap) + MARGIN_MM;
        const dx = (x[i] as number) - (fixed ? fixed.x : (x[j] as number));
        const dy = (y[i] as number) - (fixed ? fixed.y : (y[j] as number));
        const square = a.r === 0 && b.r === 0;
        const round = square ? 0 : a.r + b.r + space;
        const ax = Math.abs(dx) - a.hw - b.hw - (square ? space : 0);
        const ay = Math.abs(dy) - a.hd - b.hd - (square ? space : 0);
        if (ax >= round || ay >= round) continue;
        let px = 0;
        let py = 0;
        if (ax <= 0 || ay <= 0) {
          const push = round - Math.max(ax, ay);
          if (push <= 0) continue;
          if (ax > ay) px = dx < 0 ? -push : push;
          else py = dy < 0 ? -push : push;
        } else {
          const apart = Math.sqrt(ax * ax + ay * ay);
          if (apart >= round) continue;
          const push = (round - apart) / apart;
          px = (dx < 0 ? -ax : ax) * push;
          py = (dy < 0 ? -ay : ay) * push;
        }
        moved = Math.max(moved, Math.abs(px), Math.abs(py));
        const share = fixed ? 1 : 0.5;
        x[i] = (x[i] as number) + px * share;
        y[i] = (y[i] as number) + py * share;
        if (!fixed) {
          x[j] = (x[j] as number) - px * share;
          y[j] = (y[j] as number) - py * share;
        }
      }
    }
    for (let i = 0; i < n; i++) {
      const { hw, hd, r } = shapes[i] as Shape;
      for (let k = 0; k < lines.length; k += 3) {
        const a = lines[k] as number;
        const b = lines[k + 1] as number;
        const over =
          a * (x[i] as number) +
          b * (y[i] as number) +
          r +
          hw * Math.abs(a) +
          hd * Math.abs(b) -
          (lines[k + 2] as number);
        if (over <= 0) continue;
        moved = Math.max(moved, over);
        x[i] = (x[i] as number) - a * over;
        y[i] = (y[i] as number) - b * over;
      }
      if (disc > 0) {
        const cx = (x[i] as number) + Math.sign(x[i] as number) * hw;
        const cy = (y[i] as number) + Math.sign(y[i] as number) * hd;
        const far = Math.hypot(cx, cy);
        const over = far + r - disc;
        if (over > 0 && far > 0) {
          moved = Math.max(moved, over);
          x[i] = (x[i] as number) - (cx / far) * over;
          y[i] = (y[i] as number) - (cy / far) * over;
        }
      }
    }
    if (moved < MARGIN_MM / 2) return true;
  }
  return false;
}
