import type { Obstacle, Region } from './chamber.ts';
import { type Placer, type Rule, TOUCH } from './placer.ts';

/**
 * Upright rectangles on an upright rectangle: keeps every largest free rectangle and puts a new one into a corner of
 * the one that suits it best. Every footprint is grown by half the gap on each side, and so is the outline, which
 * asks for the gap between two pieces and for none to the outline.
 */
export class Rectangles implements Placer {
  x = 0;
  y = 0;
  turned = false;
  private readonly region: Region;
  private readonly grow: number;
  private fit = 0;
  private count = 0;
  private fx = new Float64Array(256);
  private fy = new Float64Array(256);
  private gx = new Float64Array(256);
  private gy = new Float64Array(256);

  constructor(region: Region, gap: number) {
    this.region = region;
    this.grow = gap / 2;
  }

  clear(obstacles: readonly Obstacle[], _baseMm: number | null, rule: Rule): void {
    const { x0, y0, x1, y1 } = this.region.box;
    this.fit = rule.fit;
    this.count = 0;
    this.free(x0 - this.grow, y0 - this.grow, x1 + this.grow, y1 + this.grow);
    for (const o of obstacles) {
      // Half of an obstacle's own gap is in the grown pieces already; a circle counts as the square around it.
      const more = o.gap - this.grow;
      const w = o.hw + o.r + more;
      const d = o.hd + o.r + more;
      this.take(o.x - w, o.y - d, o.x + w, o.y + d);
    }
  }

  put(x: number, y: number, hw: number, hd: number, _r: number): void {
    const g = this.grow;
    this.take(x - hw - g, y - hd - g, x + hw + g, y + hd + g);
  }

  place(hw: number, hd: number, _r: number, _heightMm: number): boolean {
    const w = 2 * (hw + this.grow);
    const d = 2 * (hd + this.grow);
    let best = Number.POSITIVE_INFINITY;
    let second = Number.POSITIVE_INFINITY;
    let at = -1;
    let turned = false;
    for (let i = 0; i < this.count; i++) {
      const fw = (this.gx[i] as number) - (this.fx[i] as number) + TOUCH;
      const fd = (this.gy[i] as number) - (this.fy[i] as number) + TOUCH;
      for (let turn = 0; turn < (w === d ? 1 : 2); turn++) {
        const pw = turn === 0 ? w : d;
        const pd = turn === 0 ? d : w;
        if (pw > fw || pd > fd) continue;
        const short = Math.min(fw - pw, fd - pd);
        const long = Math.max(fw - pw, fd - pd);
        let one = short;
        let two = long;
        if (this.fit === 1) {
          one = fw * fd - w * d;
          two = short;
        } else if (this.fit === 2) {
          one = (this.fy[i] as number) + pd;
          two = this.fx[i] as number;
        } else if (this.fit === 3) {
          one = long;
          two = short;
        } else if (this.fit === 4) {
          one = (this.fx[i] as number) + pw;
          two = this.fy[i] as number;
        }
        if (one < best || (one === best && two < second)) {
          best = one;
          second = two;
          at = i;
          turned = turn === 1;
        }
      }
    }
    if (at < 0) return false;
    const x0 = this.fx[at] as number;
    const y0 = this.fy[at] as number;
    const pw = turned ? d : w;
    const pd = turned ? w : d;
    this.turned = turned;
    this.x = x0 + pw / 2;
    this.y = y0 + pd / 2;
    this.take(x0, y0, x0 + pw, y0 + pd);
    return true;
  }

  has(hw: number, hd: number, _r: number): boolean {
    const w = 2 * (hw + this.grow) - TOUCH;
    const d = 2 * (hd + this.grow) - TOUCH;
    for (let i = 0; i < this.count; i++) {
      const fw = (this.gx[i] as number) - (this.fx[i] as number);
      const fd = (this.gy[i] as number) - (this.fy[i] as number);
      if ((w <= fw && d <= fd) || (d <= fw && w <= fd)) return true;
    }
    return false;
  }

  private free(x0: number, y0: number, x1: number, y1: number): void {
    if (!(x1 - x0 > TOUCH && y1 - y0 > TOUCH)) return;
    const i = this.count++;
    if (i >= this.fx.length) {
      for (const key of ['fx', 'fy', 'gx', 'gy'] as const) {
        const larger = new Float64Array(this[key].length * 2);
        larger.set(this[key]);
        this[key] = larger;
      }
    }
    this.fx[i] = x0;
    this.fy[i] = y0;
    this.gx[i] = x1;
    this.gy[i] = y1;
  }

  private drop(i: number): void {
    const last = --this.count;
    this.fx[i] = this.fx[last] as number;
    this.fy[i] = this.fy[last] as number;
    this.gx[i] = this.gx[last] as number;
    this.gy[i] = this.gy[last] as number;
  }

  /** Takes a rectangle out of every free one and keeps only those that lie in no other. */
  private take(x0: number, y0: number, x1: number, y1: number): void {
    const { fx, fy, gx, gy } = this;
    let old = this.count;
    const cut: number[] = [];
    for (let i = 0; i < old; ) {
      const a0 = fx[i] as number;
      const b0 = fy[i] as number;
      const a1 = gx[i] as number;
      const b1 = gy[i] as number;
      if (x0 >= a1 - TOUCH || x1 <= a0 + TOUCH || y0 >= b1 - TOUCH || y1 <= b0 + TOUCH) {
        i++;
        continue;
      }
      if (x0 > a0 + TOUCH) cut.push(a0, b0, x0, b1);
      if (x1 < a1 - TOUCH) cut.push(x1, b0, a1, b1);
      if (y0 > b0 + TOUCH) cut.push(a0, b0, a1, y0);
      if (y1 < b1 - TOUCH) cut.push(a0, y1, a1, b1);
      this.drop(i);
      old--;
    }
    for (let i = 0; i < cut.length; i += 4) {
      const a0 = cut[i] as number;
      const b0 = cut[i + 1] as number;
      const a1 = cut[i + 2] as number;
      const b1 = cut[i + 3] as number;
      let inside = false;
      for (let j = 0; j < old && !inside; j++)
        inside =
          a0 >= (this.fx[j] as number) - TOUCH &&
          b0 >= (this.fy[j] as number) - TOUCH &&
          a1 <= (this.gx[j] as number) + TOUCH &&
          b1 <= (this.gy[j] as number) + TOUCH;
      for (let j = 0; j < cut.length && !inside; j += 4) {
        if (j === i) continue;
        const within =
          a0 >= (cut[j] as number) &&
          b0 >= (cut[j + 1] as number) &&
          a1 <= (cut[j + 2] as number) &&
          b1 <= (cut[j + 3] as number);
        // Of two equal ones the first stays.
        const equal = within && a0 === cut[j] && b0 === cut[j + 1] && a1 === cut[j + 2] && b1 === cut[j + 3];
        inside = within && (!equal || j < i);
      }
      if (!inside) this.free(a0, b0, a1, b1);
    }
  }
}
