import type { Chamber, Obstacle, Part, Prop } from './chamber.ts';
import { Floor } from './floor.ts';
import type { Placer, Rule } from './placer.ts';
import type { Random } from './random.ts';
import { Rectangles } from './rectangles.ts';
import { squeeze } from './squeeze.ts';
import { areaOf, type Shape, type Unit, unitOf, unitsOf, type Ware } from './ware.ts';

export interface Spot {
  unit: Unit;
  x: number;
  y: number;
  turned: boolean;
}

/** One shelf with its ware. */
export interface Layer {
  part: Part;
  spots: Spot[];
  wares: Ware[];
  tallest: number;
  worth: number;
  kg: number;
  /** The spots of posts are kept clear, so another level may stand on it. */
  clear: boolean;
  /** What carries the next shelf, null on a topmost level. */
  prop: Prop | null;
}

export interface Wish {
  part: Part;
  /** Tallest that may stand here. */
  mostMm: number;
  /** Keep the spots of posts clear. */
  clear: boolean;
  /** Base above the chamber floor, where it is known and matters; else null. */
  baseMm: number | null;
  /** Which level of its side this is, where pins matter; else 0. */
  level: number;
}

/** Share of a shelf that is tried to be filled by what is worth most before size rules the order. */
const EAGER = [0.7, 0.8, 0.9, 1, 1.15] as const;
/** Fuller shelves of mixed ware are not worth a try at shifting, and how long one takes. */
const DENSEST = 0.9;
/** Shares of the rules by which places are chosen, one after another in sum. */
const STRAIGHT = {
  boxes: { slanting: 0.25, any: 0.85, outwards: 0.85 },
  mixed: { slanting: 0.45, any: 0.6, outwards: 0.85 },
};
const SWEEPS = 100;
const MOST_FAILURES = 6;

/** Fills single shelves: picks by worth, places by size, then tries what is left. */
export class Shelves {
  /** What each ware counts for in the search, by its index. */
  worth: Float64Array;
  private readonly chamber: Chamber;
  private readonly random: Random;
  private readonly placers: Record<Part, Placer>;
  private readonly singles = new Map<number, Unit>();
  private readonly stacks: boolean;

  constructor(chamber: Chamber, wares: readonly Ware[], worth: Float64Array, random: Random) {
    this.chamber = chamber;
    this.random = random;
    this.worth = worth;
    this.stacks = wares.some((ware) => ware.stackClass !== '');
    for (const ware of wares) this.singles.set(ware.index, unitOf(ware));
    const placer = (part: Part) => placerFor(chamber, part, wares);
    this.placers = { full: placer('full'), left: placer('left'), right: placer('right') };
  }

  /**
   * A layer of some of the pool, null when nothing of it can stand there.
   * @param kept what stands there already and stays
   */
  fill(pool: readonly Ware[], wish: Wish, kept: readonly Spot[] = []): Layer | null {
    const { random } = this;
    const here = wish.level > 0 ? pool.filter((ware) => ware.pin === 0 || ware.pin === wish.level) : pool;
    const units = this.stacks
      ? unitsOf(here, wish.mostMm)
      : here
          .filter((ware) => ware.heightMm <= wish.mostMm)
          .map((ware) => this.singles.get(ware.index) as Unit);
    if (units.length === 0 && kept.length === 0) return null;
    const placer = this.placers[wish.part];
    const obstacles = obstaclesOf(this.chamber, wish);
    placer.clear(obstacles, wish.baseMm, this.rule(wish.part));
    let area = 0;
    for (const { unit, x, y, turned } of kept) {
      placer.put(x, y, turned ? unit.hd : unit.hw, turned ? unit.hw : unit.hd, unit.r);
      area += unit.area;
    }

    const noise = random() < 0.3 ? 0 : random() * 0.4;
    const jitter = () => (noise === 0 ? 1 : Math.exp(noise * (random() + random() + random() - 1.5)));
    const keyed = units.map((unit) => ({ unit, key: (this.worthOf(unit) / unit.area) * jitter() }));
    keyed.sort((a, b) => b.unit.pin - a.unit.pin || b.key - a.key);
    const eager = EAGER[Math.floor(random() * EAGER.length)] as number;
    const aim =
      eager * (this.chamber.regions[wish.part].area - obstacles.reduce((sum, o) => sum + areaOf(o), 0));
    let picked = 0;
    while (picked < keyed.length && area < aim) area += (keyed[picked++] as { unit: Unit }).unit.area;
    const sizeRule = Math.floor(random() * 3);
    const first = keyed
      .slice(0, picked)
      .map(({ unit }) => ({ unit, key: sizeOf(unit, sizeRule) * jitter() }));
    first.sort((a, b) => b.unit.pin - a.unit.pin || b.key - a.key);

    const spots: Spot[] = [...kept];
    const failed: Unit[] = [];
    let failures = 0;
    const attempt = (unit: Unit): void => {
      if (
        failed.some((f) => f.r <= unit.r && f.hw <= unit.hw && f.hd <= unit.hd && f.heightMm <= unit.heightMm)
      )
        return;
      if (placer.place(unit.hw, unit.hd, unit.r, unit.heightMm)) {
        spots.push({ unit, x: placer.x, y: placer.y, turned: placer.turned });
        failures = 0;
      } else {
        failures++;
        failed.push(unit);
      }
    };
    for (const { unit } of first) attempt(unit);
    failures = 0;
    if (this.anyFits(placer, keyed, picked))
      for (let i = picked; i < keyed.length && failures < MOST_FAILURES; i++)
        attempt((keyed[i] as { unit: Unit }).unit);
    return spots.length > 0 ? layerOf(this.chamber, spots, wish, (unit) => this.worthOf(unit)) : null;
  }

  /**
   * What stands on a layer shifted to make room for one more piece of the pool, or for one in place of another; null
   * when that did not work.
   */
  squeezed(pool: readonly Ware[], wish: Wish, spots: readonly Spot[]): Layer | null {
    const { random, chamber } = this;
    const placer = this.placers[wish.part];
    if (!(placer instanceof Floor) || pool.length === 0) return null;
    const ware = pool[Math.floor(random() * pool.length)] as Ware;
    if (ware.heightMm > wish.mostMm || (ware.pin > 0 && ware.pin !== wish.level)) return null;
    const unit = this.singles.get(ware.index) as Unit;
    const stay = [...spots];
    let from: { x: number; y: number } | null = null;
    if (stay.length > 1 && random() < 0.6) {
      const out = Math.floor(random() * stay.length);
      const [gone] = stay.splice(out, 1);
      if (!gone || this.worthOf(unit) <= this.worthOf(gone.unit)) return null;
      from = gone;
    }
    const region = chamber.regions[wish.part];
    const obstacles = obstaclesOf(chamber, wish);
    const { x0, y0, x1, y1 } = region.box;
    from ??= { x: x0 + (x1 - x0) * random(), y: y0 + (y1 - y0) * random() };
    const all: Spot[] = [...stay, { unit, x: from.x, y: from.y, turned: unit.r === 0 && random() < 0.5 }];
    let area = obstacles.reduce((sum, o) => sum + areaOf(o), 0);
    for (const spot of all) area += spot.unit.area;
    if (area > DENSEST * region.area) return null;
    const shapes = all.map(({ unit: { hw, hd, r }, turned }) =>
      turned ? { hw: hd, hd: hw, r } : { hw, hd, r },
    );
    const x = Float64Array.from(all, (spot) => spot.x);
    const y = Float64Array.from(all, (spot) => spot.y);
    if (!squeeze(region, obstacles, chamber.gap, shapes, x, y, SWEEPS)) return null;
    placer.clear(obstacles, wish.baseMm, this.rule(wish.part));
    for (let k = 0; k < all.length; k++) {
      const { hw, hd, r } = shapes[k] as Shape;
      const height = (all[k] as Spot).unit.heightMm;
      if (!placer.isFree(x[k] as number, y[k] as number, hw, hd, r, height)) return null;
      placer.put(x[k] as number, y[k] as number, hw, hd, r);
    }
    const moved = all.map((spot, k) => ({ ...spot, x: x[k] as number, y: y[k] as number }));
    return layerOf(chamber, moved, wish, (each) => this.worthOf(each));
  }

  /** Whether a shape no larger than any of these in any extent still finds a place: if not, none of them does. */
  private anyFits(placer: Placer, units: readonly { unit: Unit }[], from: number): boolean {
    let r = Number.POSITIVE_INFINITY;
    let short = Number.POSITIVE_INFINITY;
    let long = Number.POSITIVE_INFINITY;
    for (let i = from; i < units.length; i++) {
      const { unit } = units[i] as { unit: Unit };
      if (unit.r > 0) r = Math.min(r, unit.r);
      else {
        short = Math.min(short, unit.hw, unit.hd);
        long = Math.min(long, Math.max(unit.hw, unit.hd));
      }
    }
    return (
      (r < Number.POSITIVE_INFINITY && placer.has(0, 0, r)) ||
      (short < Number.POSITIVE_INFINITY && placer.has(short, long, 0))
    );
  }

  /** The same layer with only these of its spots. */
  thinner(layer: Layer, spots: Spot[]): Layer {
    const { part, clear, prop } = layer;
    const wish = { part, clear, mostMm: 0, baseMm: null, level: 0 };
    return { ...layerOf(this.chamber, spots, wish, (unit) => this.worthOf(unit)), clear, prop };
  }

  /** A shelf with nothing on it, where a pin asks for one. */
  empty(wish: Wish): Layer {
    return layerOf(this.chamber, [], wish, () => 0);
  }

  private worthOf(unit: Unit): number {
    let sum = 0;
    for (const ware of unit.wares) sum += this.worth[ware.index] as number;
    return sum;
  }

  private rule(part: Part): Rule {
    const { random } = this;
    const rule = { ax: 0, ay: 0, q: 0, fit: Math.floor(random() * 5), angle: random() * 2 * Math.PI };
    const way = random();
    const region = this.chamber.regions[part];
    // Upright boxes want to stand in rows; among round ware any slant is as good, and most are better.
    const mixed = this.placers[part] instanceof Floor;
    const straight = mixed ? STRAIGHT.mixed : STRAIGHT.boxes;
    if (way < straight.any) {
      const angle =
        way < straight.slanting
          ? rule.angle
          : Math.floor(random() * 4) * (Math.PI / 2) + 0.03 * (random() - 0.5);
      rule.ax = Math.cos(angle);
      rule.ay = Math.sin(angle);
      return rule;
    }
    // From the middle outwards or from the outline inwards.
    rule.q = way < straight.outwards ? -1 : 1;
    const pull = rule.q < 0 ? 0.1 : 20;
    const { x0, y0, x1, y1 } = region.box;
    rule.ax = pull * Math.cos(rule.angle) - rule.q * (x0 + x1);
    rule.ay = pull * Math.sin(rule.angle) - rule.q * (y0 + y1);
    return rule;
  }
}

/** A layer of these spots. */
export function layerOf(chamber: Chamber, spots: Spot[], wish: Wish, worth: (unit: Unit) => number): Layer {
  const layer: Layer = {
    part: wish.part,
    spots,
    wares: [],
    tallest: 0,
    worth: 0,
    kg: 0,
    clear: wish.clear || chamber.posts[wish.part].length === 0,
    prop: null,
  };
  for (const { unit } of spots) {
    layer.wares.push(...unit.wares);
    layer.tallest = Math.max(layer.tallest, unit.heightMm);
    layer.worth += worth(unit);
    layer.kg += unit.kg;
  }
  return layer;
}

/** The quickest placer that suits these pieces on this part of the shelf. */
export function placerFor(chamber: Chamber, part: Part, wares: readonly Ware[]): Placer {
  return wares.every((ware) => ware.r === 0) && suitsRectangles(chamber)
    ? new Rectangles(chamber.regions[part], chamber.gap)
    : new Floor(chamber.regions[part], chamber.gap);
}

/** What stands in the way of a wished layer. */
export function obstaclesOf(chamber: Chamber, { part, clear, baseMm, mostMm }: Wish): Obstacle[] {
  const keepOuts =
    baseMm === null
      ? chamber.keepOuts[part]
      : chamber.keepOuts[part].filter((k) => k.to > baseMm && k.from < baseMm + mostMm);
  return clear ? [...chamber.posts[part], ...keepOuts] : keepOuts;
}

function suitsRectangles({ regions, posts, keepOuts, gap }: Chamber): boolean {
  const wide = (o: Obstacle) => o.r === 0 && Math.min(o.hw, o.hd) + o.gap >= gap / 2;
  return regions.full.isBox && posts.full.every(wide) && keepOuts.full.every(wide);
}

function sizeOf(unit: Unit, rule: number): number {
  if (rule === 0) return unit.area;
  const long = unit.r || Math.max(unit.hw, unit.hd);
  return rule === 1 ? long : long + (unit.r || Math.min(unit.hw, unit.hd));
}
