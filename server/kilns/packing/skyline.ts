import type { Region } from './chamber.ts';
import { TOUCH } from './placer.ts';

/**
 * Upright rectangles on an empty upright rectangle from below: takes the lowest gap of the outline of what stands and
 * puts there the rectangle that suits it best: as wide as the gap, level with a neighbour, leaving no sliver; among
 * equals the first in order. Sizes are grown by half the gap on each side, as in `Rectangles`.
 */
export class Skyline {
  /** Numbers and places of what stands, in the order it was put there. */
  count = 0;
  readonly at: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly turned: Uint8Array;
  private readonly w: Float64Array;
  private readonly d: Float64Array;
  private readonly x0: number;
  private readonly y0: number;
  private readonly width: number;
  private readonly depth: number;
  // The outline: segments from sx, at height sy, sw wide.
  private segments = 0;
  private readonly sx: Float64Array;
  private readonly sy: Float64Array;
  private readonly sw: Float64Array;
  private readonly todo: Int32Array;

  /** @param halves half widths and half depths of all that may ever be placed, mm, by number */
  constructor(region: Region, gap: number, halves: readonly { hw: number; hd: number }[]) {
    const { box } = region;
    this.x0 = box.x0 - gap / 2;
    this.y0 = box.y0 - gap / 2;
    this.width = box.x1 - box.x0 + gap;
    this.depth = box.y1 - box.y0 + gap;
    this.w = Float64Array.from(halves, ({ hw }) => 2 * hw + gap);
    this.d = Float64Array.from(halves, ({ hd }) => 2 * hd + gap);
    const n = halves.length;
    this.at = new Int32Array(n);
    this.x = new Float64Array(n);
    this.y = new Float64Array(n);
    this.turned = new Uint8Array(n);
    this.todo = new Int32Array(n);
    this.sx = new Float64Array(n + 4);
    this.sy = new Float64Array(n + 4);
    this.sw = new Float64Array(n + 4);
  }

  /** Fills the empty shelf; what stands in `order` first goes first among equals. */
  fill(order: readonly number[]): void {
    const { w, d, todo, sx, sy, sw, width, depth } = this;
    let open = order.length;
    for (let i = 0; i < open; i++) todo[i] = order[i] as number;
    this.count = 0;
    this.segments = 1;
    sx[0] = 0;
    sy[0] = 0;
    sw[0] = width;
    while (open > 0) {
      let low = 0;
      for (let i = 1; i < this.segments; i++) if ((sy[i] as number) < (sy[low] as number) - TOUCH) low = i;
      const y = sy[low] as number;
      const gap = sw[low] as number;
      const room = depth - y;
      if (room <= TOUCH) break;
      const left = low > 0 ? (sy[low - 1] as number) - y : room;
      const right = low + 1 < this.segments ? (sy[low + 1] as number) - y : room;
      let least = Number.POSITIVE_INFINITY;
      for (let i = 0; i < open; i++) {
        const at = todo[i] as number;
        const a = w[at] as number;
        const b = d[at] as number;
        const short = Math.min(a, b);
        if (short < least) least = short;
      }
      let best = -1;
      let bestScore = -2;
      let bestTurned = 0;
      for (let i = 0; i < open && bestScore < 7; i++) {
        const at = todo[i] as number;
        for (let turn = 0; turn < 2; turn++) {
          const a = (turn === 0 ? w[at] : d[at]) as number;
          const b = (turn === 0 ? d[at] : w[at]) as number;
          if (a > gap + TOUCH || b > room + TOUCH) continue;
          const spareW = gap - a;
          const spareD = room - b;
          const levelL = b - left < TOUCH && left - b < TOUCH;
          const levelR = b - right < TOUCH && right - b < TOUCH;
          let score = spareW <= TOUCH ? 4 : spareW < least - TOUCH ? 0 : 2;
          if (levelL) score += spareW <= TOUCH ? 2 : 1;
          if (levelR) score += spareW <= TOUCH ? 2 : 1;
          if (spareD > TOUCH && spareD < least - TOUCH) score -= 1;
          if (score > bestScore) {
            best = i;
            bestScore = score;
            bestTurned = turn;
          }
        }
      }
      if (best < 0) {
        this.raise(low);
        continue;
      }
      const at = todo[best] as number;
      const a = (bestTurned === 0 ? w[at] : d[at]) as number;
      const b = (bestTurned === 0 ? d[at] : w[at]) as number;
      // Against the neighbour it is level with, else the higher one.
      const levelR = Math.abs(b - right) < TOUCH;
      const atRight = Math.abs(b - left) >= TOUCH && (levelR || right > left);
      const x = (sx[low] as number) + (atRight ? gap - a : 0);
      const k = this.count++;
      this.at[k] = at;
      this.x[k] = this.x0 + x + a / 2;
      this.y[k] = this.y0 + y + b / 2;
      this.turned[k] = bestTurned;
      open--;
      for (let i = best; i < open; i++) todo[i] = todo[i + 1] as number;
      this.stand(low, a, b, atRight);
    }
  }

  /** A rectangle stands at one end of a segment. */
  private stand(low: number, a: number, b: number, atRight: boolean): void {
    const { sx, sy, sw } = this;
    const x = sx[low] as number;
    const y = sy[low] as number;
    const gap = sw[low] as number;
    if (gap - a <= TOUCH) {
      sy[low] = y + b;
      this.merge(low);
      return;
    }
    for (let i = this.segments++; i > low; i--) {
      sx[i] = sx[i - 1] as number;
      sy[i] = sy[i - 1] as number;
      sw[i] = sw[i - 1] as number;
    }
    const [rest, put] = atRight ? [low, low + 1] : [low + 1, low];
    sx[rest] = atRight ? x : x + a;
    sy[rest] = y;
    sw[rest] = gap - a;
    sx[put] = atRight ? x + gap - a : x;
    sy[put] = y + b;
    sw[put] = a;
    this.merge(put);
  }

  /** Gives up a gap: it rises to its lower neighbour. */
  private raise(low: number): void {
    const { sy } = this;
    const left = low > 0 ? (sy[low - 1] as number) : this.depth;
    const right = low + 1 < this.segments ? (sy[low + 1] as number) : this.depth;
    sy[low] = Math.min(left, right);
    this.merge(low);
  }

  /** Joins a segment with neighbours at its height. */
  private merge(i: number): void {
    let at = i;
    if (at + 1 < this.segments && Math.abs((this.sy[at + 1] as number) - (this.sy[at] as number)) < TOUCH)
      this.join(at);
    if (at > 0 && Math.abs((this.sy[at - 1] as number) - (this.sy[at] as number)) < TOUCH) {
      at--;
      this.join(at);
    }
  }

  private join(at: number): void {
    const { sx, sy, sw } = this;
    sw[at] = (sw[at] as number) + (sw[at + 1] as number);
    sy[at] = Math.max(sy[at] as number, sy[at + 1] as number);
    this.segments--;
    for (let i = at + 1; i < this.segments; i++) {
      sx[i] = sx[i + 1] as number;
      sy[i] = sy[i + 1] as number;
      sw[i] = sw[i + 1] as number;
    }
  }
}
