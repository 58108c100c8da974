import { type Block, joined, spread } from './blocks.ts';
import type { Chamber, Obstacle } from './chamber.ts';
import { Floor } from './floor.ts';
import { type Layer, layerOf, obstaclesOf, placerFor, type Spot, type Wish } from './layer.ts';
import type { Placer, Rule } from './placer.ts';
import type { Random } from './random.ts';
import { Rectangles } from './rectangles.ts';
import type { Budget, Found } from './search.ts';
import { Skyline } from './skyline.ts';
import { squeeze } from './squeeze.ts';
import type { Stackup } from './stackup.ts';
import { type Shape, type Unit, unitsOf, type Ware } from './ware.ts';

/** One shelf: numbers of its units in the order they were placed, and where. */
interface Bin {
  units: number[];
  x: number[];
  y: number[];
  turned: boolean[];
  /** Sum of the units' worth. */
  worth: number;
  /** Sum of their areas, mm². */
  area: number;
}

/** Shelves, what found no place, and the rule each shelf was filled by. */
interface Tried {
  bins: Bin[];
  left: number[];
  rules: Rule[];
}

/** Share of steps that shift the ware of one shelf to get one more onto it, and how long. */
const SQUEEZES = 0.15;
const SWEEPS = 300;
/** No shelf of circles is fuller (equal ones: π/√12), and few mixed ones are. */
const DENSEST = 0.94;
/** Share of steps that join rectangles of equal sides first. */
const BLOCKS = 0.08;
/** The fit that stands for filling from below. */
const SKYLINE = 9;
const NOISES = [0.05, 0.15, 0.3, 0.6, 1] as const;
const START_TRIES = 60;
/** What a step may lose at the start: of the sum of squared fills, and of the worth of one unit. */
const HEAT = 0.01;
const VALUE_HEAT = 0.2;

/** Loads of a single level: a plain two-dimensional packing, for which shelves are kept as bare numbers. */
export class Bins {
  private readonly units: Unit[];
  private readonly chamber: Chamber;
  private readonly random: Random;
  private readonly placer: Placer;
  private readonly obstacles: Obstacle[];
  private readonly wish: Wish;
  /** Four sizes of every unit that orders may follow. */
  private readonly sizes: Float64Array[];
  private readonly area: Float64Array;
  /** Width and depth of rectangles with the gap, mm. */
  private readonly wide: Float64Array;
  private readonly deep: Float64Array;
  private readonly stands: Uint8Array;
  private skyline: Skyline | null = null;
  private skylineShare = 0;
  private readonly density: Float64Array;
  private readonly keys: Float64Array;
  private readonly room: number;
  private readonly tooBig: Ware[];

  constructor(chamber: Chamber, wares: readonly Ware[], random: Random) {
    this.chamber = chamber;
    this.random = random;
    this.wish = {
      part: 'full',
      mostMm: chamber.room,
      clear: false,
      baseMm: chamber.zoned ? chamber.firstBase : null,
      level: 1,
    };
    this.obstacles = obstaclesOf(chamber, this.wish);
    this.placer = placerFor(chamber, 'full', wares);
    const all = unitsOf(
      wares.filter((ware) => ware.pin <= 1),
      chamber.room,
    );
    this.units = all.filter((unit) => {
      this.placer.clear(this.obstacles, this.wish.baseMm, this.rule());
      return this.placer.place(unit.hw, unit.hd, unit.r, unit.heightMm);
    });
    const placed = new Set(this.units.flatMap((unit) => unit.wares));
    this.tooBig = wares.filter((ware) => !placed.has(ware));
    const long = (u: Unit) => u.r || Math.max(u.hw, u.hd);
    const short = (u: Unit) => u.r || Math.min(u.hw, u.hd);
    this.sizes = [
      (u: Unit) => u.area,
      (u: Unit) => long(u) + short(u),
      (u: Unit) => long(u) + 0.01 * short(u),
      (u: Unit) => short(u) + 0.01 * long(u),
    ].map((size) => Float64Array.from(this.units, size));
    this.area = Float64Array.from(this.units, (u) => u.area);
    this.density = Float64Array.from(this.units, (u) => (u.value + 1e-9) / u.area);
    this.wide = Float64Array.from(this.units, (u) => 2 * u.hw + chamber.gap);
    this.deep = Float64Array.from(this.units, (u) => 2 * u.hd + chamber.gap);
    this.stands = new Uint8Array(this.units.length);
    if (this.placer instanceof Rectangles && this.obstacles.length === 0)
      this.skyline = new Skyline(chamber.regions.full, chamber.gap, this.units);
    this.keys = new Float64Array(this.units.length);
    this.room = chamber.regions.full.area;
  }

  /** Everything in as few loads as can be found; stops at `fewest`. */
  fewestLoads(budget: Budget, fewest: number, onBetter: (found: Found) => void): Found {
    const { random, units } = this;
    if (units.length === 0) return { loads: [], left: this.tooBig };
    this.skylineShare = 0.3;
    const all = units.map((_, i) => i);
    let bins: Bin[] = [];
    let now = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < START_TRIES; i++) {
      const order = this.ordered([...all], i < 8 ? 0 : 0.2);
      const tried = this.filled(order, Number.POSITIVE_INFINITY, true);
      const goal = this.goal(tried.bins);
      if (tried.left.length === 0 && goal > now) {
        bins = tried.bins;
        now = goal;
      }
      if (bins.length > 0 && (bins.length <= fewest || !budget.step())) break;
    }
    let best = bins;
    let bestGoal = now;
    onBetter(this.found(best));
    while (best.length > Math.max(fewest, 1) && budget.step()) {
      const shift = this.placer instanceof Floor && random() < SQUEEZES;
      const count = Math.min(bins.length, shift ? 2 : 2 + Math.floor(random() * random() * 4));
      const chosen = this.choose(bins, count);
      const pool: number[] = [];
      let before = 0;
      for (const bin of chosen) {
        for (const unit of bin.units) pool.push(unit);
        before += (bin.area / this.room) ** 2;
      }
      let tried: Tried;
      if (shift) tried = this.shifted(chosen);
      else if (this.skyline && random() < BLOCKS) tried = this.filledByBlocks(pool, count);
      else tried = this.filled(this.ordered(pool, this.noise()), count, true);
      if (tried.left.length > 0) continue;
      let after = 0;
      for (const bin of tried.bins) after += (bin.area / this.room) ** 2;
      const gain = after - before + 1e3 * (chosen.length - tried.bins.length);
      const heat = HEAT * (1 - budget.used());
      if (gain < heat * Math.log(random() + 1e-12)) continue;
      const next: Bin[] = tried.bins;
      for (const bin of bins) if (!chosen.includes(bin)) next.push(bin);
      bins = next;
      now += gain;
      if (now > bestGoal + 1e-9) {
        const fewer = bins.length < best.length;
        best = bins;
        bestGoal = now;
        if (fewer) onBetter(this.found(best));
      }
    }
    return this.found(best);
  }

  /** The most value in at most so many loads; stops at `ceiling`. */
  mostValue(most: number, budget: Budget, ceiling: number, onBetter: (found: Found) => void): Found {
    const { random, units } = this;
    if (units.length === 0) return { loads: [], left: this.tooBig };
    this.skylineShare = 0.9;
    const all = units.map((_, i) => i);
    const worth = (bins: readonly Bin[]) => bins.reduce((sum, bin) => sum + bin.worth, 0);
    let now: Tried = { bins: [], left: all, rules: [] };
    let nowWorth = -1;
    for (let i = 0; i < START_TRIES; i++) {
      const order = this.ordered([...all], i < 8 ? 0 : 0.2, i % 2 === 0);
      const tried = this.filled(order, most, false);
      const value = worth(tried.bins);
      if (value > nowWorth) {
        now = tried;
        nowWorth = value;
      }
      if (nowWorth >= ceiling * (1 - 1e-12) || !budget.step()) break;
    }
    let best = now.bins;
    let bestWorth = nowWorth;
    onBetter(this.found(best));
    const unitWorth = Math.max(nowWorth, 1e-9) / Math.max(1, all.length - now.left.length);
    while (bestWorth < ceiling * (1 - 1e-12) && budget.step()) {
      const tried = this.varied(now, most);
      const value = worth(tried.bins);
      const heat = VALUE_HEAT * unitWorth * (1 - budget.used());
      if (value < nowWorth + heat * Math.log(random() + 1e-12)) continue;
      now = tried;
      nowWorth = value;
      if (value > bestWorth * (1 + 1e-12)) {
        best = tried.bins;
        bestWorth = value;
        onBetter(this.found(best));
      }
    }
    return this.found(best);
  }

  /** One or two shelves filled anew in nearly the order they were filled in, with what lies about. */
  private varied(now: Tried, most: number): Tried {
    const { random } = this;
    if (now.left.length > 0 && this.placer instanceof Floor && random() < SQUEEZES) {
      const index = Math.floor(random() * Math.min(most, now.bins.length + 1));
      const at = Math.floor(random() * now.left.length);
      const fuller = this.squeezed(now.bins[index], now.left[at] as number);
      if (!fuller) return now;
      const bins = [...now.bins];
      const rules = [...now.rules];
      bins[index] = fuller.bin;
      rules[index] = fuller.rule;
      return { bins, left: now.left.filter((_, k) => k !== at), rules };
    }
    const count = Math.max(1, Math.min(most, random() < 0.7 ? 1 : 2));
    const chosen = new Set<number>();
    const last = Math.min(most, now.bins.length + 1);
    while (chosen.size < Math.min(count, last)) chosen.add(Math.floor(random() * last));
    const order: number[] = [];
    for (const index of chosen) for (const unit of now.bins[index]?.units ?? []) order.push(unit);
    const standing = order.length;
    for (const unit of now.left) order.push(unit);
    const moves = 1 + Math.floor(random() * random() * 4);
    for (let i = 0; i < moves; i++) {
      // What lies about mostly has to come forward to get a place at all.
      const from =
        now.left.length > 0 && random() < 0.5
          ? standing + Math.floor(random() * now.left.length)
          : Math.floor(random() * order.length);
      const to = Math.floor(random() * Math.max(standing, 1));
      const unit = order[from] as number;
      if (random() < 0.5) {
        order[from] = order[to] as number;
        order[to] = unit;
      } else {
        order.splice(from, 1);
        order.splice(to, 0, unit);
      }
    }
    if (this.skyline && random() < BLOCKS) {
      const tried = this.filledByBlocks(order, chosen.size);
      now.bins.forEach((bin, index) => {
        if (chosen.has(index)) return;
        tried.bins.push(bin);
        tried.rules.push(now.rules[index] as Rule);
      });
      return tried;
    }
    const rules = [...chosen].map((index) => (random() < 0.8 ? now.rules[index] : undefined));
    const { bins, left, rules: used } = this.filled(order, chosen.size, false, rules);
    now.bins.forEach((bin, index) => {
      if (chosen.has(index)) return;
      bins.push(bin);
      used.push(now.rules[index] as Rule);
    });
    return { bins, left, rules: used };
  }

  /**
   * A shelf with one unit more than it has, its ware shifted to make room or strewn anew; null when that did not work.
   */
  private squeezed(bin: Bin | undefined, extra: number): { bin: Bin; rule: Rule } | null {
    const { random, placer, chamber } = this;
    if (!(placer instanceof Floor)) return null;
    const { box } = chamber.regions.full;
    const ids = [...(bin?.units ?? []), extra];
    let area = 0;
    for (const unit of ids) area += this.area[unit] as number;
    if (area > DENSEST * this.room) return null;
    const strewn = random() < 0.3;
    const turned = ids.map((unit, k) =>
      strewn ? (this.units[unit] as Unit).r === 0 && random() < 0.5 : (bin?.turned[k] ?? false),
    );
    const shapes = ids.map((at, k): Shape => {
      const { hw, hd, r } = this.units[at] as Unit;
      return turned[k] ? { hw: hd, hd: hw, r } : { hw, hd, r };
    });
    const anywhere = (low: number, high: number) => low + (high - low) * random();
    const shake = strewn ? 0 : 0.1 * random() * Math.sqrt(this.room / ids.length);
    const place = (old: number | undefined, low: number, high: number) =>
      old === undefined || strewn ? anywhere(low, high) : old + shake * (random() - 0.5);
    const x = Float64Array.from(ids, (_, k) => place(bin?.x[k], box.x0, box.x1));
    const y = Float64Array.from(ids, (_, k) => place(bin?.y[k], box.y0, box.y1));
    if (!squeeze(chamber.regions.full, this.obstacles, chamber.gap, shapes, x, y, SWEEPS)) return null;
    const rule = this.rule();
    placer.clear(this.obstacles, this.wish.baseMm, rule);
    const next: Bin = { units: ids, x: [...x], y: [...y], turned, worth: 0, area };
    for (let k = 0; k < ids.length; k++) {
      const { hw, hd, r } = shapes[k] as Shape;
      const unit = this.units[ids[k] as number] as Unit;
      if (!placer.isFree(x[k] as number, y[k] as number, hw, hd, r, unit.heightMm)) return null;
      placer.put(x[k] as number, y[k] as number, hw, hd, r);
      next.worth += unit.value;
    }
    return { bin: next, rule };
  }

  /** One unit of the first shelf squeezed onto the second. */
  private shifted([from, to]: readonly Bin[]): Tried {
    const bins: Bin[] = [];
    if (from && to) {
      const at = Math.floor(this.random() * from.units.length);
      const unit = from.units[at] as number;
      const fuller = this.squeezed(to, unit);
      if (!fuller) return { bins: [], left: [unit], rules: [] };
      bins.push(fuller.bin);
      const rest = <T>(list: readonly T[]) => list.filter((_, k) => k !== at);
      if (from.units.length > 1)
        bins.push({
          units: rest(from.units),
          x: rest(from.x),
          y: rest(from.y),
          turned: rest(from.turned),
          worth: from.worth - (this.units[unit] as Unit).value,
          area: from.area - (this.area[unit] as number),
        });
    }
    return { bins, left: [], rules: [] };
  }

  private noise(): number {
    return NOISES[Math.floor(this.random() * NOISES.length)] as number;
  }

  private goal(bins: readonly Bin[]): number {
    let sum = -1e3 * bins.length;
    for (const bin of bins) sum += (bin.area / this.room) ** 2;
    return sum;
  }

  /** The emptiest mostly, and others at random. */
  private choose(bins: readonly Bin[], count: number): Bin[] {
    const { random } = this;
    const chosen: Bin[] = [];
    if (random() < 0.7) {
      let emptiest = bins[0] as Bin;
      for (const bin of bins) if (bin.area < emptiest.area) emptiest = bin;
      chosen.push(emptiest);
    }
    while (chosen.length < count) {
      const bin = bins[Math.floor(random() * bins.length)] as Bin;
      if (!chosen.includes(bin)) chosen.push(bin);
    }
    return chosen;
  }

  /** The units of a pool, large ones first by a random measure and with noise. Sorts the pool given. */
  private ordered(pool: number[], noise: number, byValue = false): number[] {
    const { random, keys } = this;
    const sizes = byValue
      ? this.density
      : (this.sizes[Math.floor(random() * this.sizes.length)] as Float64Array);
    for (let i = 0; i < pool.length; i++) {
      const unit = pool[i] as number;
      keys[unit] = (sizes[unit] as number) * (1 - noise * random());
    }
    for (let i = 1; i < pool.length; i++) {
      const unit = pool[i] as number;
      const key = keys[unit] as number;
      let j = i - 1;
      while (j >= 0 && (keys[pool[j] as number] as number) < key) {
        pool[j + 1] = pool[j] as number;
        j--;
      }
      pool[j + 1] = unit;
    }
    return pool;
  }

  /** Fills one shelf after another in this order; where `all` must go in, gives up once the rest no longer can. */
  private filled(
    order: number[],
    most: number,
    all: boolean,
    wanted: readonly (Rule | undefined)[] = [],
  ): Tried {
    const bins: Bin[] = [];
    const rules: Rule[] = [];
    let left = order;
    let area = 0;
    for (const unit of order) area += this.area[unit] as number;
    while (left.length > 0 && bins.length < most) {
      if (all && area > (most - bins.length) * this.room * (1 + 1e-9)) break;
      const rest: number[] = [];
      const rule = wanted[bins.length] ?? this.rule();
      const bin = this.shelf(left, rest, rule);
      if (bin.units.length === 0) break;
      area -= bin.area;
      bins.push(bin);
      rules.push(rule);
      left = rest;
    }
    return { bins, left, rules };
  }

  private shelf(order: readonly number[], rest: number[], rule: Rule): Bin {
    const { placer, units } = this;
    const bin: Bin = { units: [], x: [], y: [], turned: [], worth: 0, area: 0 };
    if (this.skyline && rule.fit === SKYLINE) {
      this.fromBelow(this.skyline, bin, order, rest);
      return bin;
    }
    placer.clear(this.obstacles, this.wish.baseMm, rule);
    const room = this.room * (1 + 1e-9);
    for (let i = 0; i < order.length; i++) {
      const at = order[i] as number;
      const unit = units[at] as Unit;
      if (bin.area + unit.area <= room && placer.place(unit.hw, unit.hd, unit.r, unit.heightMm)) {
        bin.units.push(at);
        bin.x.push(placer.x);
        bin.y.push(placer.y);
        bin.turned.push(placer.turned);
        bin.area += unit.area;
        bin.worth += unit.value;
      } else rest.push(at);
    }
    return bin;
  }

  private fromBelow(skyline: Skyline, bin: Bin, order: readonly number[], rest: number[]): void {
    const { stands } = this;
    skyline.fill(order);
    for (let k = 0; k < skyline.count; k++) {
      const at = skyline.at[k] as number;
      bin.units.push(at);
      bin.x.push(skyline.x[k] as number);
      bin.y.push(skyline.y[k] as number);
      bin.turned.push(skyline.turned[k] === 1);
      bin.area += this.area[at] as number;
      bin.worth += (this.units[at] as Unit).value;
      stands[at] = 1;
    }
    for (let i = 0; i < order.length; i++) {
      const at = order[i] as number;
      if (stands[at] === 0) rest.push(at);
      stands[at] = 0;
    }
  }

  /** As `filled`, with rectangles of equal sides joined to blocks first. */
  private filledByBlocks(pool: readonly number[], most: number): Tried {
    const { random, placer, room, wide, deep, chamber } = this;
    const { x0, y0, x1, y1 } = chamber.regions.full.box;
    const half = chamber.gap / 2;
    const shelf = { width: x1 - x0 + chamber.gap, depth: y1 - y0 + chamber.gap };
    const joins = random() < 0.5 ? pool.length : Math.floor(random() * pool.length);
    let blocks = joined(pool, wide, deep, shelf, joins, random);
    const noise = this.noise();
    const keyOf = new Map(blocks.map((block) => [block, block.w * block.d * (1 - noise * random())]));
    blocks.sort((a, b) => (keyOf.get(b) as number) - (keyOf.get(a) as number));
    const tried: Tried = { bins: [], left: [], rules: [] };
    while (blocks.length > 0 && tried.bins.length < most) {
      const rule = this.rule();
      const bin: Bin = { units: [], x: [], y: [], turned: [], worth: 0, area: 0 };
      const rest: Block[] = [];
      placer.clear(this.obstacles, this.wish.baseMm, rule);
      const attempt = (block: Block): void => {
        if (!placer.place(block.w / 2 - half, block.d / 2 - half, 0, 0)) {
          if (block.a && block.b) {
            attempt(block.a);
            attempt(block.b);
          } else rest.push(block);
          return;
        }
        const w = placer.turned ? block.d : block.w;
        const d = placer.turned ? block.w : block.d;
        spread(block, placer.x - w / 2, placer.y - d / 2, placer.turned, (at, x, y, turned) => {
          const unit = this.units[at] as Unit;
          bin.units.push(at);
          bin.x.push(x);
          bin.y.push(y);
          bin.turned.push(turned);
          bin.area += unit.area;
          bin.worth += unit.value;
        });
      };
      for (const block of blocks) attempt(block);
      if (bin.units.length === 0 || bin.area > room * (1 + 1e-9)) break;
      tried.bins.push(bin);
      tried.rules.push(rule);
      blocks = rest;
    }
    for (const block of blocks) spread(block, 0, 0, false, (at) => tried.left.push(at));
    return tried;
  }

  private rule(): Rule {
    const { random, chamber } = this;
    const angle = random() * 2 * Math.PI;
    const fit = this.skyline && random() < this.skylineShare ? SKYLINE : Math.floor(random() * 5);
    if (chamber.regions.full.isBox) {
      const way = Math.floor(random() * 4) * (Math.PI / 2) + 0.03 * (random() - 0.5);
      return { ax: Math.cos(way), ay: Math.sin(way), q: 0, fit, angle };
    }
    const way = random();
    if (way < 0.3) return { ax: Math.cos(angle), ay: Math.sin(angle), q: 0, fit, angle };
    const q = way < 0.8 ? -1 : 1;
    const lean = q < 0 ? 0.1 : 20;
    return { ax: lean * Math.cos(angle), ay: lean * Math.sin(angle), q, fit, angle };
  }

  private found(bins: readonly Bin[]): Found {
    const loads: Stackup[] = bins.map((bin) => ({ full: [this.layer(bin)], left: [], right: [] }));
    const placed = new Set(bins.flatMap((bin) => bin.units));
    const left = this.units.filter((_, i) => !placed.has(i)).flatMap((unit) => unit.wares);
    loads.sort((a, b) => (b.full[0] as Layer).worth - (a.full[0] as Layer).worth);
    return { loads, left: [...left, ...this.tooBig] };
  }

  private layer(bin: Bin): Layer {
    const spots = bin.units.map(
      (unit, k): Spot => ({
        unit: this.units[unit] as Unit,
        x: bin.x[k] as number,
        y: bin.y[k] as number,
        turned: bin.turned[k] as boolean,
      }),
    );
    return layerOf(this.chamber, spots, this.wish, (unit) => unit.area);
  }
}
