import type { Obstacle, Region } from './chamber.ts';
import { type Placer, type Rule, TOUCH } from './placer.ts';

const ANGLES = 12;
/** About so many cells both ways in which it is noted how much room there is around their middles. */
const CELLS = 24;
/** The first owner of boundaries; box i is owner i + 1. */
const OUTLINE = 0;

/**
 * Circles and upright rectangles among circles and rectangles inside any outline. The centre of a new shape must stay
 * out of one rounded box around each shape that stands (its half extents added, its round and the gap as the round
 * of the corners) and inside the outline drawn in; the best places are where two of those boundaries cross.
 */
export class Floor implements Placer {
  x = 0;
  y = 0;
  turned = false;
  private readonly region: Region;
  private readonly gap: number;
  private count = 0;
  private base: number | null = null;
  private rule: Rule = { ax: 0, ay: 1, q: 0, fit: 0, angle: 0 };
  // What stands: centre, half extents, round, gap, heights it is there for.
  private px = new Float64Array(64);
  private py = new Float64Array(64);
  private pw = new Float64Array(64);
  private pd = new Float64Array(64);
  private pr = new Float64Array(64);
  private pg = new Float64Array(64);
  private lo = new Float64Array(64);
  private hi = new Float64Array(64);
  // The rounded boxes its centre must stay out of, for the shape in hand.
  private boxes = 0;
  private bx = new Float64Array(64);
  private by = new Float64Array(64);
  private bw = new Float64Array(64);
  private bd = new Float64Array(64);
  private br = new Float64Array(64);
  // Their boundaries: upright and level segments, circles with the quadrant that counts, slanting lines.
  private nv = 0;
  private vx = new Float64Array(256);
  private v0 = new Float64Array(256);
  private v1 = new Float64Array(256);
  private nh = 0;
  private hy = new Float64Array(256);
  private h0 = new Float64Array(256);
  private h1 = new Float64Array(256);
  private nc = 0;
  private cx = new Float64Array(512);
  private cy = new Float64Array(512);
  private cr = new Float64Array(512);
  private csx = new Int8Array(512);
  private csy = new Int8Array(512);
  private nl = 0;
  private la = new Float64Array(128);
  private lb = new Float64Array(128);
  private lc = new Float64Array(128);
  // Where each owner's boundaries end in the lists above.
  private vEnd = new Int32Array(65);
  private hEnd = new Int32Array(65);
  private cEnd = new Int32Array(65);
  private order = new Int32Array(64);
  private least = new Float64Array(64);
  private readonly slants: boolean;
  // The shape in hand and the best place so far.
  private hw = 0;
  private hd = 0;
  private r = 0;
  private best = 0;
  private bestX = 0;
  private bestY = 0;
  private found = false;
  private any = false;
  private last = 0;
  // Cells over the region's box: how large a round may stand about each middle; an empty region has none.
  private readonly nx: number;
  private readonly ny: number;
  private readonly cellW: number;
  private readonly cellD: number;
  private readonly toCorner: number;
  private readonly bare: Float64Array;
  private readonly spare: Float64Array;
  // Of each row of cells the ends of the part in which the shape in hand may have its centre.
  private readonly rowFrom: Float64Array;
  private readonly rowTo: Float64Array;
  private firstRow = 0;
  private lastRow = -1;

  constructor(region: Region, gap: number) {
    this.region = region;
    const { x0, y0, x1, y1 } = region.box;
    const [width, depth] = [Math.max(x1 - x0, 0), Math.max(y1 - y0, 0)];
    const side = Math.sqrt(width * depth) / CELLS;
    this.nx = side > 0 ? Math.min(Math.ceil(width / side), CELLS ** 2) : 1;
    this.ny = side > 0 ? Math.min(Math.ceil(depth / side), CELLS ** 2) : 1;
    this.cellW = width / this.nx;
    this.cellD = depth / this.ny;
    this.toCorner = Math.hypot(this.cellW, this.cellD) / 2;
    this.bare = new Float64Array(this.nx * this.ny);
    this.spare = new Float64Array(this.nx * this.ny);
    this.rowFrom = new Float64Array(this.ny);
    this.rowTo = new Float64Array(this.ny);
    for (let k = 0; k < this.bare.length; k++) {
      const x = x0 + ((k % this.nx) + 0.5) * this.cellW;
      const y = y0 + (Math.floor(k / this.nx) + 0.5) * this.cellD;
      let room = region.disc > 0 ? region.disc - Math.hypot(x, y) : Number.POSITIVE_INFINITY;
      for (let i = 0; i < region.lines.length; i += 3) {
        const [a = 0, b = 0, c = 0] = region.lines.subarray(i, i + 3);
        room = Math.min(room, c - a * x - b * y);
      }
      this.bare[k] = room;
    }
    this.slants = region.lines.some((a, i) => i % 3 === 0 && a !== 0 && region.lines[i + 1] !== 0);
    this.gap = gap;
  }

  clear(obstacles: readonly Obstacle[], baseMm: number | null, rule: Rule): void {
    this.count = 0;
    this.base = baseMm;
    this.rule = rule;
    this.spare.set(this.bare);
    for (const o of obstacles) this.stand(o.x, o.y, o.hw, o.hd, o.r, o.gap, o.from, o.to);
  }

  put(x: number, y: number, hw: number, hd: number, r: number): void {
    this.stand(x, y, hw, hd, r, this.gap, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
  }

  place(hw: number, hd: number, r: number, heightMm: number): boolean {
    this.found = false;
    this.best = Number.POSITIVE_INFINITY;
    this.turned = false;
    this.search(hw, hd, r, heightMm);
    if (r === 0 && hw !== hd) {
      const before = this.best;
      this.search(hd, hw, 0, heightMm);
      this.turned = this.best < before;
    }
    if (!this.found) return false;
    this.x = this.bestX;
    this.y = this.bestY;
    if (this.turned) this.put(this.x, this.y, hd, hw, 0);
    else this.put(this.x, this.y, hw, hd, r);
    return true;
  }

  has(hw: number, hd: number, r: number): boolean {
    // Found is found: the first place ends the search.
    this.found = false;
    this.best = Number.POSITIVE_INFINITY;
    this.any = true;
    this.search(hw, hd, r, 0);
    if (!this.found && r === 0 && hw !== hd) this.search(hd, hw, 0, 0);
    this.any = false;
    return this.found;
  }

  /** Whether a shape may stand at this place; its base is the shelf's. */
  isFree(x: number, y: number, hw: number, hd: number, r: number, heightMm: number): boolean {
    this.surround(hw, hd, r, heightMm);
    return this.feasible(x, y);
  }

  /** Up to `most` free places for a shape, the best by the rule first. */
  places(hw: number, hd: number, r: number, heightMm: number, most: number): { x: number; y: number }[] {
    const places: { x: number; y: number }[] = [];
    const before = this.count;
    const spare = this.spare.slice();
    while (places.length < most) {
      this.found = false;
      this.best = Number.POSITIVE_INFINITY;
      this.search(hw, hd, r, heightMm);
      if (!this.found) break;
      places.push({ x: this.bestX, y: this.bestY });
      this.put(this.bestX, this.bestY, hw, hd, r);
    }
    this.count = before;
    this.spare.set(spare);
    return places;
  }

  private stand(
    x: number,
    y: number,
    hw: number,
    hd: number,
    r: number,
    gap: number,
    from: number,
    to: number,
  ): void {
    const i = this.count++;
    if (i >= this.px.length) this.grow();
    this.px[i] = x;
    this.py[i] = y;
    this.pw[i] = hw;
    this.pd[i] = hd;
    this.pr[i] = r;
    this.pg[i] = gap;
    this.lo[i] = from;
    this.hi[i] = to;
    // What is there at some heights only leaves the room as it is: more than there may be is harmless.
    if (from === Number.NEGATIVE_INFINITY && to === Number.POSITIVE_INFINITY)
      this.narrow(x, y, hw, hd, r + gap);
  }

  /** Notes that about each middle a round reaches no further than up to this shape. */
  private narrow(x: number, y: number, hw: number, hd: number, round: number): void {
    const { spare, nx, ny, cellW, cellD } = this;
    const { x0, y0 } = this.region.box;
    for (let row = 0, k = 0; row < ny; row++) {
      const dy = Math.max(Math.abs(y0 + (row + 0.5) * cellD - y) - hd, 0);
      for (let column = 0; column < nx; column++, k++) {
        const dx = Math.max(Math.abs(x0 + (column + 0.5) * cellW - x) - hw, 0);
        const reach = (spare[k] as number) + round;
        const far = dx * dx + dy * dy;
        if (reach > 0 && far < reach * reach) spare[k] = Math.sqrt(far) - round;
      }
    }
  }

  /**
   * Looks up where a shape about which the largest round has this radius may have its centre: a middle has at most so
   * much less room around it than any place in its cell. Answers whether there is any.
   */
  private roomy(radius: number): boolean {
    const { spare, nx, ny, cellW, rowFrom, rowTo } = this;
    const least = radius - this.toCorner - 2 * TOUCH;
    const { x0 } = this.region.box;
    this.firstRow = ny;
    this.lastRow = -1;
    for (let row = 0; row < ny; row++) {
      const from = row * nx;
      let a = 0;
      while (a < nx && (spare[from + a] as number) < least) a++;
      if (a === nx) {
        rowFrom[row] = Number.POSITIVE_INFINITY;
        rowTo[row] = Number.NEGATIVE_INFINITY;
        continue;
      }
      let b = nx - 1;
      while ((spare[from + b] as number) < least) b--;
      rowFrom[row] = x0 + a * cellW - 2 * TOUCH;
      rowTo[row] = x0 + (b + 1) * cellW + 2 * TOUCH;
      this.firstRow = Math.min(this.firstRow, row);
      this.lastRow = row;
    }
    return this.lastRow >= 0;
  }

  /** Whether a shape's centre may be anywhere in this box. */
  private isOpen(x0: number, x1: number, y0: number, y1: number): boolean {
    const { rowFrom, rowTo, cellD } = this;
    const low = this.region.box.y0;
    const from = Math.max(this.firstRow, Math.floor((y0 - low - 2 * TOUCH) / cellD));
    const to = Math.min(this.lastRow, Math.floor((y1 - low + 2 * TOUCH) / cellD));
    for (let row = from; row <= to; row++)
      if ((rowFrom[row] as number) <= x1 && (rowTo[row] as number) >= x0) return true;
    return false;
  }

  private grow(): void {
    const larger = (a: Float64Array) => {
      const b = new Float64Array(a.length * 2);
      b.set(a);
      return b;
    };
    const signs = (a: Int8Array) => {
      const b = new Int8Array(a.length * 2);
      b.set(a);
      return b;
    };
    const whole = (a: Int32Array) => {
      const b = new Int32Array(a.length * 2);
      b.set(a);
      return b;
    };
    for (const key of ['vEnd', 'hEnd', 'cEnd', 'order'] as const) this[key] = whole(this[key]);
    this.least = larger(this.least);
    for (const key of ['px', 'py', 'pw', 'pd', 'pr', 'pg', 'lo', 'hi', 'bx', 'by', 'bw', 'bd', 'br'] as const)
      this[key] = larger(this[key]);
    for (const key of ['vx', 'v0', 'v1', 'hy', 'h0', 'h1', 'cx', 'cy', 'cr'] as const)
      this[key] = larger(this[key]);
    this.csx = signs(this.csx);
    this.csy = signs(this.csy);
  }

  /** Draws the boundaries for a shape's centre. */
  private surround(hw: number, hd: number, r: number, heightMm: number): void {
    this.hw = hw;
    this.hd = hd;
    this.r = r;
    this.boxes = this.nv = this.nh = this.nc = this.nl = this.last = 0;
    const { disc, lines } = this.region;
    for (let i = 0; i < lines.length; i += 3) {
      const a = lines[i] as number;
      const b = lines[i + 1] as number;
      const c = (lines[i + 2] as number) - r - hw * Math.abs(a) - hd * Math.abs(b);
      this.la[this.nl] = a;
      this.lb[this.nl] = b;
      this.lc[this.nl++] = c;
      if (b === 0) this.upright(c / a, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
      else if (a === 0) this.level(c / b, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
    }
    if (disc > 0) {
      if (r > 0) {
        if (disc > r) this.circle(0, 0, disc - r, 0, 0);
      } else {
        this.circle(hw, hd, disc, 0, 0);
        this.circle(-hw, hd, disc, 0, 0);
        this.circle(hw, -hd, disc, 0, 0);
        this.circle(-hw, -hd, disc, 0, 0);
      }
    }
    this.ends(OUTLINE);
    const low = this.base === null ? Number.NEGATIVE_INFINITY : this.base;
    const high = this.base === null ? Number.POSITIVE_INFINITY : this.base + heightMm;
    for (let i = 0; i < this.count; i++) {
      if ((this.hi[i] as number) <= low || (this.lo[i] as number) >= high) continue;
      const pr = this.pr[i] as number;
      const gap = this.pg[i] as number;
      const square = r === 0 && pr === 0;
      const w = hw + (this.pw[i] as number) + (square ? gap : 0);
      const d = hd + (this.pd[i] as number) + (square ? gap : 0);
      const round = square ? 0 : r + pr + gap;
      const x = this.px[i] as number;
      const y = this.py[i] as number;
      const k = this.boxes++;
      this.bx[k] = x;
      this.by[k] = y;
      this.bw[k] = w;
      this.bd[k] = d;
      this.br[k] = round;
      if (w === 0 && d === 0) {
        this.circle(x, y, round, 0, 0);
        this.ends(k + 1);
        continue;
      }
      this.upright(x - w - round, y - d, y + d);
      this.upright(x + w + round, y - d, y + d);
      this.level(y - d - round, x - w, x + w);
      this.level(y + d + round, x - w, x + w);
      if (round > 0) {
        this.circle(x + w, y + d, round, 1, 1);
        this.circle(x - w, y + d, round, -1, 1);
        this.circle(x + w, y - d, round, 1, -1);
        this.circle(x - w, y - d, round, -1, -1);
      }
      this.ends(k + 1);
    }
  }

  private ends(owner: number): void {
    this.vEnd[owner] = this.nv;
    this.hEnd[owner] = this.nh;
    this.cEnd[owner] = this.nc;
  }

  private upright(x: number, y0: number, y1: number): void {
    const i = this.nv++;
    this.vx[i] = x;
    this.v0[i] = y0 - TOUCH;
    this.v1[i] = y1 + TOUCH;
  }

  private level(y: number, x0: number, x1: number): void {
    const i = this.nh++;
    this.hy[i] = y;
    this.h0[i] = x0 - TOUCH;
    this.h1[i] = x1 + TOUCH;
  }

  private circle(x: number, y: number, r: number, sx: number, sy: number): void {
    const i = this.nc++;
    this.cx[i] = x;
    this.cy[i] = y;
    this.cr[i] = r;
    this.csx[i] = sx;
    this.csy[i] = sy;
  }

  private search(hw: number, hd: number, r: number, heightMm: number): void {
    if (!this.roomy(r > 0 ? r : Math.min(hw, hd))) return;
    this.surround(hw, hd, r, heightMm);
    const { disc } = this.region;
    if (disc > 0) {
      this.consider(0, 0);
      const reach = r > 0 ? disc - r : 0;
      if (reach > 0)
        for (let i = 0; i < ANGLES; i++) {
          const angle = this.rule.angle + (2 * Math.PI * i) / ANGLES;
          this.consider(reach * Math.cos(angle), reach * Math.sin(angle));
        }
    }
    this.cross(OUTLINE, OUTLINE);
    // No place on a box's boundary is better than its best corner: those that cannot win are passed over.
    const { boxes, order, least } = this;
    const { ax, ay, q } = this.rule;
    for (let i = 0; i < boxes; i++) {
      const x = this.bx[i] as number;
      const y = this.by[i] as number;
      const ex = (this.bw[i] as number) + (this.br[i] as number);
      const ey = (this.bd[i] as number) + (this.br[i] as number);
      let bound = ax * x - Math.abs(ax) * ex + ay * y - Math.abs(ay) * ey;
      const nearX = Math.max(Math.abs(x) - ex, 0);
      const nearY = Math.max(Math.abs(y) - ey, 0);
      const farX = Math.abs(x) + ex;
      const farY = Math.abs(y) + ey;
      bound += q > 0 ? q * (nearX * nearX + nearY * nearY) : q * (farX * farX + farY * farY);
      let j = i - 1;
      while (j >= 0 && (least[j] as number) > bound) {
        least[j + 1] = least[j] as number;
        order[j + 1] = order[j] as number;
        j--;
      }
      least[j + 1] = bound;
      order[j + 1] = i;
    }
    for (let k = 0; k < boxes; k++) {
      if ((least[k] as number) >= this.best) break;
      const i = order[k] as number;
      const x = this.bx[i] as number;
      const y = this.by[i] as number;
      const ex = (this.bw[i] as number) + (this.br[i] as number) + TOUCH;
      const ey = (this.bd[i] as number) + (this.br[i] as number) + TOUCH;
      if (!this.isOpen(x - ex, x + ex, y - ey, y + ey)) continue;
      this.cross(OUTLINE, i + 1);
      for (let m = 0; m < k; m++) {
        const j = order[m] as number;
        const xj = this.bx[j] as number;
        const fx = (this.bw[j] as number) + (this.br[j] as number);
        const x0 = Math.max(x - ex, xj - fx);
        const x1 = Math.min(x + ex, xj + fx);
        if (x0 > x1) continue;
        const yj = this.by[j] as number;
        const fy = (this.bd[j] as number) + (this.br[j] as number);
        const y0 = Math.max(y - ey, yj - fy);
        const y1 = Math.min(y + ey, yj + fy);
        if (y0 > y1 || !this.isOpen(x0, x1, y0, y1)) continue;
        if (this.bw[i] === 0 && this.bd[i] === 0 && this.bw[j] === 0 && this.bd[j] === 0)
          this.crossRounds(i, j);
        else this.cross(i + 1, j + 1);
      }
    }
  }

  /** Considers every point where the boundaries of two owners cross. */
  private cross(one: number, two: number): void {
    const { vEnd, hEnd, cEnd, vx, v0, v1, hy, h0, h1, cx, cy, cr, csx, csy } = this;
    const same = one === two;
    const vA = one > 0 ? (vEnd[one - 1] as number) : 0;
    const vB = vEnd[one] as number;
    const hA = one > 0 ? (hEnd[one - 1] as number) : 0;
    const hB = hEnd[one] as number;
    const cA = one > 0 ? (cEnd[one - 1] as number) : 0;
    const cB = cEnd[one] as number;
    const vC = two > 0 ? (vEnd[two - 1] as number) : 0;
    const vD = vEnd[two] as number;
    const hC = two > 0 ? (hEnd[two - 1] as number) : 0;
    const hD = hEnd[two] as number;
    const cC = two > 0 ? (cEnd[two - 1] as number) : 0;
    const cD = cEnd[two] as number;
    for (let turn = 0; turn < (same ? 1 : 2); turn++) {
      const va = turn === 0 ? vA : vC;
      const vb = turn === 0 ? vB : vD;
      const ha = turn === 0 ? hC : hA;
      const hb = turn === 0 ? hD : hB;
      const ca = turn === 0 ? cC : cA;
      const cb = turn === 0 ? cD : cB;
      const ka = turn === 0 ? hA : hC;
      const kb = turn === 0 ? hB : hD;
      for (let i = va; i < vb; i++) {
        const x = vx[i] as number;
        const low = v0[i] as number;
        const high = v1[i] as number;
        for (let j = ha; j < hb; j++) {
          const y = hy[j] as number;
          if (y >= low && y <= high && x >= (h0[j] as number) && x <= (h1[j] as number)) this.consider(x, y);
        }
        for (let j = ca; j < cb; j++) {
          const dx = x - (cx[j] as number);
          const rr = cr[j] as number;
          const sq = rr * rr - dx * dx;
          if (sq < 0 || dx * (csx[j] as number) < -TOUCH) continue;
          const dy = Math.sqrt(sq);
          const yc = cy[j] as number;
          const sy = csy[j] as number;
          if (sy >= 0 && yc + dy >= low && yc + dy <= high) this.consider(x, yc + dy);
          if (sy <= 0 && yc - dy >= low && yc - dy <= high) this.consider(x, yc - dy);
        }
      }
      for (let i = ka; i < kb; i++) {
        const y = hy[i] as number;
        const low = h0[i] as number;
        const high = h1[i] as number;
        for (let j = ca; j < cb; j++) {
          const dy = y - (cy[j] as number);
          const rr = cr[j] as number;
          const sq = rr * rr - dy * dy;
          if (sq < 0 || dy * (csy[j] as number) < -TOUCH) continue;
          const dx = Math.sqrt(sq);
          const xc = cx[j] as number;
          const sx = csx[j] as number;
          if (sx >= 0 && xc + dx >= low && xc + dx <= high) this.consider(xc + dx, y);
          if (sx <= 0 && xc - dx >= low && xc - dx <= high) this.consider(xc - dx, y);
        }
      }
    }
    for (let i = cA; i < cB; i++) {
      const x1 = cx[i] as number;
      const y1 = cy[i] as number;
      const r1 = cr[i] as number;
      const sx1 = csx[i] as number;
      const sy1 = csy[i] as number;
      for (let j = same ? i + 1 : cC; j < cD; j++) {
        const dx = (cx[j] as number) - x1;
        const dy = (cy[j] as number) - y1;
        const r2 = cr[j] as number;
        const far = r1 + r2;
        const dd = dx * dx + dy * dy;
        if (dd > far * far || dd === 0) continue;
        const a = (dd + r1 * r1 - r2 * r2) / (2 * dd);
        const sq = (r1 * r1) / dd - a * a;
        if (sq < 0) continue;
        const h = Math.sqrt(sq);
        const mx = a * dx;
        const my = a * dy;
        const sx2 = csx[j] as number;
        const sy2 = csy[j] as number;
        for (let side = -1; side <= 1; side += 2) {
          const ox = mx - side * h * dy;
          const oy = my + side * h * dx;
          if (ox * sx1 < -TOUCH || oy * sy1 < -TOUCH) continue;
          if ((ox - dx) * sx2 < -TOUCH || (oy - dy) * sy2 < -TOUCH) continue;
          this.consider(x1 + ox, y1 + oy);
        }
      }
    }
    if (one === OUTLINE && this.slants) this.crossSlants(same, vC, vD, hC, hD, cC, cD);
  }

  /** The same for two that are round all round: most of them are. */
  private crossRounds(i: number, j: number): void {
    const x1 = this.bx[i] as number;
    const y1 = this.by[i] as number;
    const r1 = this.br[i] as number;
    const r2 = this.br[j] as number;
    const dx = (this.bx[j] as number) - x1;
    const dy = (this.by[j] as number) - y1;
    const far = r1 + r2;
    const dd = dx * dx + dy * dy;
    if (dd > far * far || dd === 0) return;
    const a = (dd + r1 * r1 - r2 * r2) / (2 * dd);
    const sq = (r1 * r1) / dd - a * a;
    if (sq < 0) return;
    const h = Math.sqrt(sq);
    this.consider(x1 + a * dx + h * dy, y1 + a * dy - h * dx);
    this.consider(x1 + a * dx - h * dy, y1 + a * dy + h * dx);
  }

  /** Slanting lines of the outline with each other or with what is given. */
  private crossSlants(
    same: boolean,
    vC: number,
    vD: number,
    hC: number,
    hD: number,
    cC: number,
    cD: number,
  ): void {
    const { nl, la, lb, lc, vx, v0, v1, hy, h0, h1, cx, cy, cr, csx, csy } = this;
    for (let i = 0; i < nl; i++) {
      const a = la[i] as number;
      const b = lb[i] as number;
      const c = lc[i] as number;
      if (a === 0 || b === 0) continue;
      for (let j = 0; same && j < i; j++) {
        const det = a * (lb[j] as number) - b * (la[j] as number);
        if (Math.abs(det) < 1e-12) continue;
        this.consider(
          (c * (lb[j] as number) - b * (lc[j] as number)) / det,
          (a * (lc[j] as number) - c * (la[j] as number)) / det,
        );
      }
      for (let j = vC; j < vD; j++) {
        const y = (c - a * (vx[j] as number)) / b;
        if (y >= (v0[j] as number) && y <= (v1[j] as number)) this.consider(vx[j] as number, y);
      }
      for (let j = hC; j < hD; j++) {
        const x = (c - b * (hy[j] as number)) / a;
        if (x >= (h0[j] as number) && x <= (h1[j] as number)) this.consider(x, hy[j] as number);
      }
      for (let j = cC; j < cD; j++) {
        const away = c - a * (cx[j] as number) - b * (cy[j] as number);
        const rr = cr[j] as number;
        const sq = rr * rr - away * away;
        if (sq < 0) continue;
        const along = Math.sqrt(sq);
        for (let side = -1; side <= 1; side += 2) {
          const ox = away * a - side * along * b;
          const oy = away * b + side * along * a;
          if (ox * (csx[j] as number) < -TOUCH || oy * (csy[j] as number) < -TOUCH) continue;
          this.consider((cx[j] as number) + ox, (cy[j] as number) + oy);
        }
      }
    }
  }

  private consider(x: number, y: number): void {
    const { ax, ay, q } = this.rule;
    const score = ax * x + ay * y + q * (x * x + y * y);
    if (score >= this.best || !this.feasible(x, y)) return;
    this.best = this.any ? Number.NEGATIVE_INFINITY : score;
    this.bestX = x;
    this.bestY = y;
    this.found = true;
  }

  private feasible(x: number, y: number): boolean {
    const boxes = this.boxes;
    if (boxes > 0) {
      if (this.hits(this.last, x, y)) return false;
    }
    const { disc } = this.region;
    if (disc > 0) {
      if (this.r > 0) {
        const reach = disc - this.r + TOUCH;
        if (reach < 0 || x * x + y * y > reach * reach) return false;
      } else {
        const far = disc + TOUCH;
        const fx = Math.abs(x) + this.hw;
        const fy = Math.abs(y) + this.hd;
        if (fx * fx + fy * fy > far * far) return false;
      }
    }
    for (let i = 0; i < this.nl; i++)
      if ((this.la[i] as number) * x + (this.lb[i] as number) * y > (this.lc[i] as number) + TOUCH)
        return false;
    for (let i = 0; i < boxes; i++)
      if (this.hits(i, x, y)) {
        this.last = i;
        return false;
      }
    return true;
  }

  private hits(i: number, x: number, y: number): boolean {
    const dx = Math.abs(x - (this.bx[i] as number)) - (this.bw[i] as number);
    const dy = Math.abs(y - (this.by[i] as number)) - (this.bd[i] as number);
    const round = (this.br[i] as number) - TOUCH;
    if (dx >= round || dy >= round) return false;
    if (dx <= 0 || dy <= 0) return true;
    return dx * dx + dy * dy < round * round;
  }
}
