import type { Chamber, Part, Prop } from './chamber.ts';
import { type Layer, Shelves, type Spot, type Wish } from './layer.ts';
import type { Random } from './random.ts';
import {
  COLUMNS,
  carriedMm,
  inStock,
  layersOf,
  propFor,
  type Stackup,
  stands,
  stockLeft,
  valueIn,
} from './stackup.ts';
import { unitsOf, type Ware } from './ware.ts';

/** How long to go on: asked before every step of the search. */
export interface Budget {
  /** Counts a step; false once the search must end. */
  step(): boolean;
  /** Share of the whole that is used up, 0 to 1. */
  used(): number;
}

/** Loads and what found no place, as the search keeps them. */
export interface Found {
  loads: Stackup[];
  left: Ware[];
}

/** Pieces a load is chosen from at most. */
const SAMPLE = 240;
/** How often each way of building is tried for a piece before it is given up. */
const LAST_TRIES = 4;
const NO_LOAD: Stackup = { full: [], left: [], right: [] };
/** How often all of a load is tried on one shelf. */
const SHELF_TRIES = 12;
/** How many heights are tried for each new level. */
const TRIES = 3;
/** Share of steps that change one shelf and leave the levels as they are. */
const SHELF_STEPS = 0.85;
/** Share of those that shift ware to get one more piece in. */
const SQUEEZES = 0.03;
/** Share of one level's worth that a step may lose at the start. */
const HEAT = 0.03;

/** One firing group's search: builds loads level by level, then takes parts of them down and builds those anew. */
export class Search {
  private readonly chamber: Chamber;
  private readonly wares: readonly Ware[];
  private readonly random: Random;
  private readonly shelves: Shelves;
  /** Bases matter: pins or keep-outs with a height range. Then levels are only taken off from the top. */
  private readonly positional: boolean;
  private readonly halves: boolean;

  constructor(chamber: Chamber, wares: readonly Ware[], random: Random) {
    this.chamber = chamber;
    this.wares = wares;
    this.random = random;
    this.shelves = new Shelves(chamber, wares, new Float64Array(0), random);
    this.positional = chamber.zoned || wares.some((ware) => ware.pin > 0);
    this.halves = chamber.mostHalf >= 1 && chamber.props.length > 0;
  }

  /** Everything into loads one after another; what fits into none is left over. */
  inLoads(): Found {
    this.weigh((ware) => ware.area * (ware.heightMm + this.chamber.problem.clearanceMm));
    const loads: Stackup[] = [];
    let left = [...this.wares];
    while (left.length > 0) {
      const load = this.newLoad(left, left.length > SAMPLE ? 1 : 5);
      if (!load) break;
      loads.push(load);
      left = without(left, load);
    }
    return { loads, left };
  }

  /**
   * Everything in as few loads as can be found, beginning with those of `inLoads`.
   * @param fewest stops there
   */
  fewestLoads(budget: Budget, fewest: number, begin: Found, onBetter: (found: Found) => void): Found {
    this.weigh((ware) => ware.area * (ware.heightMm + this.chamber.problem.clearanceMm));
    let { loads } = begin;
    const { left } = begin;
    const goal = () => -loads.length * 1e3 + this.squares(loads);
    let now = goal();
    let best = loads;
    let bestGoal = now;
    onBetter({ loads, left });
    while (loads.length > fewest && loads.length > 1 && budget.step()) {
      const before = loads;
      loads = this.random() < SHELF_STEPS ? this.shifted(loads) : this.shuffled(loads);
      const next = goal();
      const heat = HEAT * 0.05 * (1 - budget.used());
      if (next >= now + heat * Math.log(this.random() + 1e-12)) now = next;
      else loads = before;
      if (now > bestGoal + 1e-9) {
        const fewer = loads.length < best.length;
        bestGoal = now;
        best = loads;
        if (fewer) onBetter({ loads, left });
      }
    }
    return { loads: best, left };
  }

  /**
   * The most value in at most so many loads.
   * @param ceiling stops there
   */
  mostValue(most: number, budget: Budget, ceiling: number, onBetter: (found: Found) => void): Found {
    const valued = this.wares.filter((ware) => ware.value > 0).map((ware) => ware.value);
    // Of equal values the larger piece is harder to place later, and what is worth nothing still fills a hole.
    const tie = (1e-6 * (valued.length > 0 ? Math.min(...valued) : 1)) / this.chamber.outlineArea;
    this.weigh((ware) => ware.value + tie * ware.area);
    let loads: Stackup[] = [];
    let pool = [...this.wares];
    while (pool.length > 0 && loads.length < most) {
      const load = this.newLoad(pool, pool.length > SAMPLE ? 3 : 8);
      if (!load) break;
      loads.push(load);
      pool = without(pool, load);
    }
    const worth = (all: Stackup[]) => all.reduce((sum, load) => sum + worthOf(load), 0);
    let now = worth(loads);
    let best = { loads, left: pool };
    let bestWorth = now;
    onBetter(best);
    while (valueIn(best.loads) < ceiling * (1 - 1e-12) && budget.step()) {
      const index = Math.floor(this.random() * most);
      const old = loads[index];
      const next = this.rebuilt(old ?? NO_LOAD, pool);
      if (!next) continue;
      const freed = old ? waresIn(old) : [];
      const worthNow = now - (old ? worthOf(old) : 0) + worthOf(next);
      const levels = loads.reduce((sum, load) => sum + layersOf(load).length, 0) || 1;
      const heat = HEAT * (1 - budget.used()) ** 2 * (now / levels);
      if (worthNow < now + heat * Math.log(this.random() + 1e-12)) continue;
      pool = without([...pool, ...freed], next);
      loads = old ? loads.map((load) => (load === old ? next : load)) : [...loads, next];
      now = worthNow;
      if (now > bestWorth * (1 + 1e-12)) {
        bestWorth = now;
        best = { loads, left: pool };
        onBetter(best);
      }
    }
    return best;
  }

  /** A load of what is worth most of some pieces; null when none of them goes into any. */
  oneLoad(pool: readonly Ware[]): Stackup | null {
    this.weigh((ware) => ware.value + 1e-9 * ware.area);
    return this.newLoad(pool, 6);
  }

  /** The ware of a load on one full shelf; null where not all of it found room there, or where it stands so already. */
  onOneShelf(load: Stackup): Stackup | null {
    const { chamber, shelves } = this;
    const { room, firstBase, regions } = chamber;
    const isAlready = layersOf(load).length === 1 && load.full.length === 1;
    if (isAlready || chamber.mostFull < 1) return null;
    const wares = waresIn(load);
    const area = unitsOf(wares, room).reduce((sum, unit) => sum + unit.area, 0);
    if (area > regions.full.area * (1 + 1e-9)) return null;
    this.weigh((ware) => ware.area);
    const wish: Wish = { part: 'full', mostMm: room, clear: false, baseMm: firstBase, level: 1 };
    for (let i = 0; i < SHELF_TRIES; i++) {
      const layer = shelves.fill(wares, wish);
      if (layer?.wares.length !== wares.length) continue;
      const one = { ...NO_LOAD, full: [layer] };
      return stands(chamber, one) ? one : null;
    }
    return null;
  }

  private weigh(worth: (ware: Ware) => number): void {
    const size = 1 + this.wares.reduce((most, ware) => Math.max(most, ware.index), 0);
    this.shelves.worth = new Float64Array(size);
    for (const ware of this.wares) this.shelves.worth[ware.index] = worth(ware);
  }

  /** Sum of the squares of how full loads are against the fullest a chamber could be: full and empty beats even. */
  private squares(loads: Stackup[]): number {
    const { chamber } = this;
    const most = chamber.regions.full.area * chamber.problem.usableHeightMm;
    return loads.reduce((sum, load) => sum + (worthOf(load) / most) ** 2, 0);
  }

  /** As many of a pool as one load may need to choose from: a long queue is not looked through at every step. */
  private sample(pool: readonly Ware[]): Ware[] {
    if (pool.length <= SAMPLE) return [...pool];
    const { random } = this;
    const { worth } = this.shelves;
    const dear = (ware: Ware) =>
      ((worth[ware.index] as number) / (ware.area * ware.heightMm)) * (0.5 + random());
    const keyed = pool.map((ware) => ({ ware, key: dear(ware) }));
    keyed.sort((a, b) => b.key - a.key);
    return keyed.slice(0, SAMPLE).map(({ ware }) => ware);
  }

  /** The best of so many new loads built from the pool; null when nothing of it goes into any. */
  private newLoad(pool: readonly Ware[], tries: number): Stackup | null {
    let best: Stackup | null = null;
    for (let i = 0; i < tries; i++) {
      // Full shelves first: half ones must hold more to be worth their posts and the hands that set them.
      const load = this.refilled(copyOf(NO_LOAD), this.sample(pool), i === 0 ? false : undefined);
      if (load && (!best || worthOf(load) > worthOf(best))) best = load;
    }
    if (best) return best;
    // Chance may have been against it: every way of building is tried, then every piece alone.
    for (const some of [this.sample(pool), ...(pool.length > 1 ? pool.map((ware) => [ware]) : [])])
      for (const halves of [false, true])
        for (let i = 0; i < LAST_TRIES; i++) {
          const load = this.refilled(copyOf(NO_LOAD), [...some], halves);
          if (load) return load;
        }
    return null;
  }

  /** One shelf of a load filled anew with ware of another load, mostly the emptiest, which takes what had to go. */
  private shifted(loads: Stackup[]): Stackup[] {
    const { random } = this;
    let from = loads[Math.floor(random() * loads.length)] as Stackup;
    if (random() < 0.8) for (const load of loads) if (worthOf(load) < worthOf(from)) from = load;
    const to = loads[Math.floor(random() * loads.length)] as Stackup;
    if (to === from) return loads;
    const fuller = this.reshelved(to, waresIn(from));
    if (!fuller) return loads;
    const others = loads.filter((load) => load !== from && load !== to);
    const rest = without([...waresIn(from), ...waresIn(to)], fuller);
    if (rest.length === 0) return [...others, fuller];
    const stay = new Set(rest);
    const out = without(rest, from);
    const trimmed = copyOf(from);
    for (const part of COLUMNS)
      trimmed[part] = trimmed[part].flatMap((layer) => {
        const spots = layer.spots.filter(({ unit }) => unit.wares.every((ware) => stay.has(ware)));
        if (spots.length === layer.spots.length) return [layer];
        return spots.length > 0 || this.positional ? [this.shelves.thinner(layer, spots)] : [];
      });
    // Of a stack that lost a piece the others are set down again.
    const loose = [...out, ...without(rest, trimmed).filter((ware) => !out.includes(ware))];
    const less = loose.length > 0 ? this.refilled(copyOf(trimmed), loose) : this.closed(trimmed);
    if (less && waresIn(less).length === rest.length) return [...others, fuller, less];
    const anew = this.newLoad(rest, 1);
    return anew && waresIn(anew).length === rest.length ? [...others, fuller, anew] : loads;
  }

  /** Some of the loads taken down, in part or whole, and built anew from what that freed. */
  private shuffled(loads: Stackup[]): Stackup[] {
    const { random } = this;
    const byWorth = loads.map((load) => ({ load, worth: worthOf(load) })).sort((a, b) => a.worth - b.worth);
    const count = Math.min(loads.length, 2 + Math.floor(random() * 3));
    const chosen = new Set<Stackup>();
    const emptiest = byWorth[random() < 0.8 ? 0 : Math.floor(random() * byWorth.length)];
    if (emptiest) chosen.add(emptiest.load);
    while (chosen.size < count)
      chosen.add((byWorth[Math.floor(random() * byWorth.length)] as { load: Stackup }).load);
    const next = loads.filter((load) => !chosen.has(load));
    const open: Stackup[] = [];
    let pool: Ware[] = [];
    for (const load of chosen) {
      const whole = load === emptiest?.load || random() < 0.4;
      const rest = whole ? NO_LOAD : this.ruined(load);
      pool.push(...waresIn(load).filter((ware) => !waresIn(rest).includes(ware)));
      open.push(rest);
    }
    // The one with most left standing is filled first, so that the emptiest may vanish.
    open.sort((a, b) => worthOf(b) - worthOf(a));
    for (const rest of open) {
      if (pool.length === 0 && layersOf(rest).length === 0) continue;
      const load = this.refilled(copyOf(rest), pool);
      if (!load) return loads;
      pool = without(pool, load);
      next.push(load);
    }
    while (pool.length > 0) {
      const load = this.newLoad(pool, 1);
      if (!load || next.length > loads.length) return loads;
      pool = without(pool, load);
      next.push(load);
    }
    return next;
  }

  /** A load with one level in part cleared and filled anew from what that freed and the pool. */
  private reshelved(load: Stackup, pool: readonly Ware[]): Stackup | null {
    const { chamber, random, positional, shelves } = this;
    const columns = COLUMNS.filter((part) => load[part].length > 0);
    const part = columns[Math.floor(random() * columns.length)] as Part;
    const at = Math.floor(random() * load[part].length);
    const layer = load[part][at] as Layer;
    const below = load[part].slice(0, at);
    const used = carriedMm(chamber, below) + (part === 'full' ? 0 : carriedMm(chamber, load.full));
    const room = chamber.room - used;
    const { clearanceMm } = chamber.problem;
    const wish: Wish = {
      part,
      mostMm: layer.prop ? Math.min(layer.prop.sumMm - clearanceMm, room) : room,
      clear: layer.prop !== null,
      baseMm: positional ? chamber.firstBase + used : null,
      level: positional ? at + 1 + (part === 'full' ? 0 : load.full.length) : 0,
    };
    const shift = random() < SQUEEZES;
    const kept = shift ? layer.spots : this.thinned(layer);
    const gone = layer.spots.filter((spot) => !kept.includes(spot)).flatMap(({ unit }) => unit.wares);
    const next = shift
      ? shelves.squeezed(pool, wish, kept)
      : shelves.fill([...this.sample(pool), ...gone], wish, kept);
    if (!next) return null;
    const result = copyOf(load);
    next.prop = layer.prop;
    result[part][at] = next;
    if (next.prop && !positional) {
      const rack = stockLeft(chamber, { ...load, [part]: load[part].filter((l) => l !== layer) });
      const tight = propFor(chamber, rack, next.tallest + clearanceMm);
      if (tight && tight.sumMm < next.prop.sumMm) next.prop = tight;
    }
    return stands(chamber, result) ? result : null;
  }

  /** The spots of a layer without some that stand together, or here and there. */
  private thinned({ spots }: Layer): Spot[] {
    const { random } = this;
    const most = Math.max(1, Math.ceil(spots.length * 0.5 * random()));
    const centre = spots[Math.floor(random() * spots.length)];
    if (!centre) return [];
    const far = ({ x, y }: Spot) => (x - centre.x) ** 2 + (y - centre.y) ** 2;
    const order = random() < 0.7 ? [...spots].sort((a, b) => far(a) - far(b)) : shuffle(spots, random);
    return order.slice(most);
  }

  /** A load with some levels taken down and built anew from them and the pool; null when that led nowhere. */
  private rebuilt(load: Stackup, pool: readonly Ware[]): Stackup | null {
    if (layersOf(load).length > 0 && this.random() < SHELF_STEPS) return this.reshelved(load, pool);
    const rest = this.ruined(load);
    const stay = new Set(waresIn(rest));
    const free = waresIn(load).filter((ware) => !stay.has(ware));
    return this.refilled(copyOf(rest), [...this.sample(pool), ...free]);
  }

  private ruined(load: Stackup): Stackup {
    const { random } = this;
    const rest = copyOf(load);
    const columns = COLUMNS.filter((part) => rest[part].length > 0);
    if (columns.length === 0) return rest;
    const way = random();
    if (way < 0.08) return { full: [], left: [], right: [] };
    if (columns.length > 1 && way < 0.2) {
      rest.left = [];
      rest.right = [];
      if (!this.positional) return rest;
    }
    const part = columns[Math.floor(random() * columns.length)] as Part;
    if (this.positional) {
      const from = Math.floor(random() * rest[part].length);
      rest[part].length = from;
      if (part === 'full') {
        rest.left = [];
        rest.right = [];
      }
      return rest;
    }
    const most = Math.min(rest[part].length, 1 + Math.floor(random() * 3));
    for (let i = 0; i < most; i++) rest[part].splice(Math.floor(random() * rest[part].length), 1);
    return rest;
  }

  /** Fills what room a load has from the pool; null when the result could not be built. Changes the load given. */
  private refilled(load: Stackup, pool: Ware[], halves?: boolean): Stackup | null {
    const { random, chamber } = this;
    const stand = load.full[load.full.length - 1];
    const capped = stand !== undefined && stand.prop === null;
    let free = pool;
    const used = () => carriedMm(chamber, load.full);
    if (load.left.length > 0 || load.right.length > 0) {
      // The last full level carries both halves: new ones go below it.
      free = this.column(load, 'full', 0, free, true);
    } else if (capped || !this.halves || !(halves ?? random() >= 0.35)) {
      free = this.column(load, 'full', 0, free, false);
      return this.closed(load);
    } else {
      const levels = Math.floor(random() * 4);
      free = this.column(load, 'full', 0, free, true, levels);
    }
    for (const part of random() < 0.5 ? (['left', 'right'] as const) : (['right', 'left'] as const))
      free = this.column(load, part, used(), free, false);
    return this.closed(load);
  }

  /** Takes the posts off topmost levels, and refuses what does not stand. */
  private closed(load: Stackup): Stackup | null {
    const halves = load.left.length > 0 || load.right.length > 0;
    for (const part of COLUMNS) {
      const column = load[part];
      const last = column.length - 1;
      const top = column[last];
      if (top?.prop && !(part === 'full' && halves)) column[last] = { ...top, prop: null };
    }
    return layersOf(load).some((layer) => layer.wares.length > 0) && stands(this.chamber, load) ? load : null;
  }

  /**
   * Adds levels to one column while there is room and ware; answers what is left of the pool.
   * @param below mm taken by what the column stands on
   * @param carriesOn the column's last level carries others, so none is built as a topmost one
   * @param atMost so many new levels
   */
  private column(
    load: Stackup,
    part: Part,
    below: number,
    pool: readonly Ware[],
    carriesOn: boolean,
    atMost = Number.POSITIVE_INFINITY,
  ): Ware[] {
    const { chamber, random, positional } = this;
    const { clearanceMm } = chamber.problem;
    const layers = load[part];
    const side = part === 'full' ? 0 : load.full.length;
    const above = part === 'full' ? Math.max(load.left.length, load.right.length) : 0;
    const halvesAbove =
      part === 'full' ? Math.max(heightNeed(chamber, load.left), heightNeed(chamber, load.right)) : 0;
    let free = [...pool];
    for (let added = 0; added < atMost && free.length > 0; added++) {
      if (side + layers.length + above >= chamber.mostLevels) break;
      if (
        part === 'full'
          ? layers.length >= chamber.mostFull
          : load.left.length + load.right.length >= chamber.mostHalf
      )
        break;
      const top = layers[layers.length - 1];
      const capped = top !== undefined && top.prop === null;
      const used = below + carriedMm(chamber, layers);
      // Room for the new level's ware were it topmost, and for its step where something is above it already.
      const room = chamber.room - used;
      const reserved = capped ? top.tallest : halvesAbove;
      const level = positional ? side + layers.length + 1 : 0;
      const wish = (mostMm: number, clear: boolean): Wish => ({
        part,
        mostMm,
        clear,
        baseMm: positional ? chamber.firstBase + used : null,
        level,
      });
      const stock = stockLeft(chamber, load);
      // Under half shelves the posts of both sides go down to the floor.
      const times = carriesOn ? 2 : 1;
      const lastAllowed =
        side + layers.length + above + 1 >= chamber.mostLevels ||
        (part === 'full'
          ? layers.length + 1 >= chamber.mostFull && !carriesOn
          : load.left.length + load.right.length + 1 >= chamber.mostHalf);
      let least = Number.POSITIVE_INFINITY;
      for (const ware of free) if (ware.heightMm < least) least = ware.heightMm;
      const choices: { layer: Layer; worth: number; step: number }[] = [];
      if (capped || carriesOn || !lastAllowed) {
        const needs = capped || halvesAbove > 0 ? reserved : least;
        for (const prop of this.heights(free, stock, room, chamber.thickness + needs, times, level)) {
          const layer = this.shelves.fill(free, wish(Math.min(prop.sumMm - clearanceMm, room), true));
          if (!layer) continue;
          const tight = propFor(chamber, stock, layer.tallest + clearanceMm, times) ?? prop;
          layer.prop = tight.sumMm <= prop.sumMm ? tight : prop;
          choices.push({ layer, worth: layer.worth, step: layer.prop.sumMm + chamber.thickness });
        }
      }
      const pinnedAbove = positional && free.some((ware) => ware.pin > level);
      if (!capped && !carriesOn && !(pinnedAbove && choices.length > 0)) {
        const layer = this.shelves.fill(free, wish(room, false));
        if (layer) choices.push({ layer, worth: layer.worth, step: room });
      }
      if (choices.length === 0) {
        const filler =
          pinnedAbove && !lastAllowed ? chamber.props.find((p) => inStock(stock, p, times)) : undefined;
        if (!filler || used + filler.sumMm + chamber.thickness > chamber.room) break;
        const layer = this.shelves.empty(wish(0, true));
        layer.prop = filler;
        layers.push(layer);
        continue;
      }
      // What is left above is worth as much a mm as the best choice here: so is a short level not beaten by a tall.
      const rate = Math.max(...choices.map((c) => c.worth / c.step));
      const score = (c: { worth: number; step: number }) =>
        (c.worth + rate * 0.9 * (room - c.step)) * (1 + 0.1 * (random() - 0.5));
      let chosen = choices[0] as (typeof choices)[number];
      let chosenScore = score(chosen);
      for (const choice of choices.slice(1)) {
        const s = score(choice);
        if (s > chosenScore) {
          chosen = choice;
          chosenScore = s;
        }
      }
      const { layer } = chosen;
      const gone = new Set(layer.wares);
      free = free.filter((ware) => !gone.has(ware));
      if (layer.prop === null) {
        layers.push(layer);
        break;
      }
      if (capped) layers.splice(layers.length - 1, 0, layer);
      else if (carriesOn && halvesAbove > 0) layers.unshift(layer);
      else layers.push(layer);
    }
    return free;
  }

  /** A few heights worth trying for a carrying level: each just enough for some piece of the pool. */
  private heights(
    pool: readonly Ware[],
    stock: readonly number[],
    room: number,
    reserved: number,
    times: number,
    level: number,
  ): Prop[] {
    const { chamber, random } = this;
    const { clearanceMm } = chamber.problem;
    const props: Prop[] = [];
    const pinned = pool.filter((ware) => ware.pin > 0 && ware.pin === level);
    for (let i = 0; i < TRIES; i++) {
      let ware = pool[Math.floor(random() * pool.length)] as Ware;
      if (pinned.length > 0) ware = pinned.reduce((a, b) => (b.heightMm > a.heightMm ? b : a));
      else if (i === 0) {
        // The tallest of a few is the one that is hardest to place later.
        for (let k = 0; k < 3; k++) {
          const other = pool[Math.floor(random() * pool.length)] as Ware;
          if (other.heightMm > ware.heightMm) ware = other;
        }
      }
      let wanted = ware.heightMm;
      if (ware.stackClass !== '' && random() < 0.7) {
        const high = 1 + Math.floor(random() * (ware.most - 1 + 0.999));
        wanted += high * (ware.stackKind === 'rim-to-rim' ? ware.heightMm : ware.stepMm);
      }
      const prop = propFor(chamber, stock, wanted + clearanceMm, times);
      if (prop && prop.sumMm + reserved <= room && !props.includes(prop)) props.push(prop);
    }
    return props;
  }
}

/** mm that a column of levels takes up to the top of its topmost ware. */
function heightNeed(chamber: Chamber, layers: readonly Layer[]): number {
  const top = layers[layers.length - 1];
  return top ? carriedMm(chamber, layers) + top.tallest : 0;
}

function shuffle<T>(list: readonly T[], random: Random): T[] {
  const copy = [...list];
  for (let i = copy.length - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    const kept = copy[i] as T;
    copy[i] = copy[j] as T;
    copy[j] = kept;
  }
  return copy;
}

function copyOf({ full, left, right }: Stackup): Stackup {
  return { full: [...full], left: [...left], right: [...right] };
}

function worthOf(load: Stackup): number {
  return layersOf(load).reduce((sum, layer) => sum + layer.worth, 0);
}

function waresIn(load: Stackup): Ware[] {
  return layersOf(load).flatMap((layer) => layer.wares);
}

function without(pool: readonly Ware[], load: Stackup): Ware[] {
  const gone = new Set(waresIn(load));
  return pool.filter((ware) => !gone.has(ware));
}
