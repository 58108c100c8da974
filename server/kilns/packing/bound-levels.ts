// The most worth that levels of ware can take where all that counts is how high each is and how much it holds. Which
// heights the levels have is searched through whole: nothing holds half a level, as it does in a linear programme.

/** Ware and the columns of levels it may stand on; lengths in mm, sizes in any unit. */
export interface Columns {
  /** Lower ends of the classes of height, lowest first: ware of class k is at least heights[k] high. */
  heights: number[];
  /** Of every piece its class, worth and size. */
  ware: { kind: number; value: number; size: number }[];
  /** How many columns, each as high as `room`. */
  count: number;
  room: number;
  /** Size on one level, and how much more of it on one level of each column: the topmost, where no posts stand. */
  holds: number;
  holdsMore: number;
  /** What a level that carries another one takes of the room to take ware of each class; infinite where none does. */
  costs: number[];
  /** Above the ware of a topmost level. */
  air: number;
  mostLevels: number;
}

/** A column in part chosen. */
interface Column {
  /** Class of the topmost level, −1 for a bare one, null where it is open. */
  top: number | null;
  /** Carrying levels up to this place in the list of them may be added. */
  next: number;
  room: number;
  levels: number;
  /** Class of its tallest level so far. */
  tallest: number;
}

interface Node {
  columns: Column[];
  /** How many levels of each class are chosen. */
  chosen: number[];
  prices: Float64Array;
  most: number;
  tuned: boolean;
}

/** Room is counted in so many parts at most, costs rounded down. */
const PARTS = 230;
const FIRST_STEPS = 150;
const STEPS = 14;
/** How often the search asks whether to go on: so many leaves. */
const LEAVES = 256;
const NOISE = 1e-9;

/**
 * The most worth of ware, pieces cut as wanted, that stands in the columns: of the ware of class k and above no more
 * than the levels of class k and above hold, and a column's levels no higher than its room. Where the search through
 * all choices of levels does not come to its end, no choice beats the number it answers.
 *
 * With a price for each class on what a level of it and above holds, a choice is worth at most what the ware is worth
 * above its price plus the price of its levels (Lagrange); the dearest levels are a knapsack. Choices are looked through
 * the most promising first by that number, its prices improved along a subgradient; a complete choice is worth what
 * filling it by worth per size gives, which is exact as the limits are nested.
 * @param goOn asked before every piece of work; false once there must be an answer
 */
export function mostInColumns(columns: Columns, goOn: () => boolean): number {
  return new LevelSearch(columns).most(goOn);
}

class LevelSearch {
  private readonly given: Columns;
  private readonly kinds: number;
  private readonly options: { kind: number; cost: number }[] = [];
  // Ware by worth a size, best first.
  private readonly classOf: Int32Array;
  private readonly worths: Float64Array;
  private readonly sizes: Float64Array;
  private readonly unit: number;
  private readonly table: Float64Array;
  private readonly parts: number;
  /** Worth of a level of each class at the prices in hand, in sum. */
  private readonly sums: Float64Array;
  private best = 0;
  private readonly held: Float64Array;
  private readonly limits: Float64Array;
  private readonly ends: Int32Array;

  constructor(given: Columns) {
    this.given = given;
    const { heights, costs, room } = given;
    this.kinds = heights.length;
    costs.forEach((cost, kind) => {
      // Of levels that cost the same the one that takes more is of use.
      if (cost <= room && cost < (costs[kind + 1] ?? Number.POSITIVE_INFINITY))
        this.options.push({ kind, cost });
    });
    const ware = [...given.ware].sort((a, b) => b.value * a.size - a.value * b.size);
    this.classOf = Int32Array.from(ware, ({ kind }) => kind);
    this.worths = Float64Array.from(ware, ({ value }) => value);
    this.sizes = Float64Array.from(ware, ({ size }) => size);
    this.unit = Math.max(room / PARTS, 1);
    this.parts = this.cellOf(room) + 1;
    this.table = new Float64Array((this.options.length + 1) * this.parts);
    this.sums = new Float64Array(this.kinds + 1);
    this.held = new Float64Array(this.kinds + 1);
    this.limits = new Float64Array(this.kinds + 1);
    this.ends = new Int32Array(this.kinds + 1);
  }

  private root(): Node {
    const { given, kinds } = this;
    const columns = Array.from({ length: given.count }, (): Column => {
      const next = this.options.length - 1;
      return { top: null, next, room: given.room, levels: 0, tallest: -1 };
    });
    const node: Node = {
      columns,
      chosen: new Array(kinds).fill(0),
      prices: new Float64Array(kinds),
      most: Number.POSITIVE_INFINITY,
      tuned: false,
    };
    // Prices that grow with height come near at once.
    const worth = this.worths.reduce((sum, value) => sum + value, 0);
    let scale = (4 * worth) / (given.room * Math.max(given.holds, NOISE));
    for (let i = 0; i < 14; i++, scale *= 0.7) {
      const prices = Float64Array.from(
        given.heights,
        (height, k) => scale * (height - (given.heights[k - 1] ?? -given.air)),
      );
      const most = this.valued(node, prices, null);
      if (most < node.most) {
        node.most = most;
        node.prices = prices;
      }
    }
    this.tune(node, FIRST_STEPS);
    return node;
  }

  most(goOn: () => boolean): number {
    const heap: Node[] = [this.root()];
    while (heap.length > 0) {
      let at = 0;
      for (let i = 1; i < heap.length; i++) if ((heap[i]?.most ?? 0) > (heap[at]?.most ?? 0)) at = i;
      const node = heap[at] as Node;
      if (this.isBeaten(node)) break;
      if (!goOn()) return node.most;
      if (!node.tuned) {
        this.tune(node, STEPS);
        continue;
      }
      heap[at] = heap.at(-1) as Node;
      heap.pop();
      const open = node.columns.filter((column) => column.top === null || this.takesMore(column));
      const [only] = open;
      if (!only) this.best = Math.max(this.best, this.filled(node.columns, node.chosen));
      // One column alone is dived into from its second level on, the last of several from its first.
      else if (open.length === 1 && only.levels > (node.columns.length > 1 ? 0 : 1)) {
        if (!this.dive(node, only, goOn)) return node.most;
      } else heap.push(...this.children(node).filter((child) => !this.isBeaten(child)));
    }
    return this.best;
  }

  private isBeaten({ most }: Node): boolean {
    return most <= this.best * (1 + NOISE) + NOISE;
  }

  /** Whether some carrying level still goes in: every choice without it is beaten by the one with it. */
  private takesMore({ room, levels, next }: Column): boolean {
    const [lowest] = this.options;
    return next >= 0 && lowest !== undefined && lowest.cost <= room + NOISE && levels < this.given.mostLevels;
  }

  private children(node: Node): Node[] {
    const { given, options } = this;
    const children: Node[] = [];
    const { prices } = node;
    const child = (old: Column, column: Column, kind: number) => {
      const columns = node.columns.map((each) => (each === old ? column : each));
      const chosen = [...node.chosen];
      if (kind >= 0) chosen[kind] = (chosen[kind] ?? 0) + 1;
      const next: Node = { columns, chosen, prices, most: node.most, tuned: false };
      children.push(next);
    };
    const topless = node.columns.findIndex(({ top }) => top === null);
    if (topless >= 0) {
      const column = node.columns[topless] as Column;
      const before = node.columns[topless - 1]?.top ?? this.kinds;
      for (let top = Math.min(before, this.kinds - 1); top >= -1; top--) {
        const room = given.room - given.air - (given.heights[top] ?? 0);
        if (room < -NOISE) continue;
        let next = options.length - 1;
        while (next >= 0 && this.isSwapped(top, next)) next--;
        child(column, { top, next, room, levels: 1, tallest: top }, top);
      }
    } else {
      let column = node.columns[0] as Column;
      for (const each of node.columns)
        if (this.takesMore(each) && (!this.takesMore(column) || each.room > column.room)) column = each;
      for (let next = column.next; next >= 0; next--) {
        const option = options[next] as { kind: number; cost: number };
        if (option.cost > column.room + NOISE || this.isSwapped(column.top ?? -1, next)) continue;
        const tallest = Math.max(column.tallest, option.kind);
        child(
          column,
          { ...column, next, room: column.room - option.cost, levels: column.levels + 1, tallest },
          option.kind,
        );
      }
    }
    // All with the prices of the node: one table serves.
    this.price(prices);
    const rest = this.restOf();
    this.fillTable(node.columns);
    for (const each of children) each.most = Math.min(each.most, this.valueAt(each, rest, null));
    return children;
  }

  /** Whether the choice with this carrying level and the topmost one swapped stands for both. */
  private isSwapped(top: number, option: number): boolean {
    const { heights, costs, air } = this.given;
    const { kind, cost } = this.options[option] as { kind: number; cost: number };
    const saved = cost - (heights[kind] ?? 0) - air;
    const own = top < 0 ? -air : (costs[top] ?? 0) - (heights[top] ?? 0) - air;
    if (top < 0) return saved > own + NOISE;
    const carries = this.options.some((each) => each.kind === top);
    return carries && (saved > own + NOISE || (saved > own - NOISE && kind > top));
  }

  /** All choices of the one column that is open, one after another; false when it had to stop. */
  private dive(node: Node, column: Column, goOn: () => boolean): boolean {
    const { options, parts, given, table } = this;
    this.price(node.prices);
    this.fillTable(node.columns);
    const chosen = [...node.chosen];
    const columns = node.columns.map((each) => (each === column ? { ...each } : each));
    const own = columns[node.columns.indexOf(column)] as Column;
    const rest = this.restOf();
    const closed = this.valueAt({ ...node, columns }, rest, null);
    const cell = this.cellOf(own.room);
    const fixed = closed - (table[(own.next + 1) * parts + cell] as number);
    let leaves = 0;
    let goes = true;
    const go = (next: number, room: number, levels: number, worth: number, tallest: number) => {
      own.tallest = tallest;
      if (levels >= given.mostLevels || (options[0]?.cost ?? Number.POSITIVE_INFINITY) > room + NOISE) {
        if (fixed + worth > this.best) this.best = Math.max(this.best, this.filled(columns, chosen));
        if (++leaves % LEAVES === 0 && !goOn()) goes = false;
        return;
      }
      for (let i = next; i >= 0 && goes; i--) {
        const { kind, cost } = options[i] as { kind: number; cost: number };
        if (cost > room + NOISE || this.isSwapped(own.top ?? -1, i)) continue;
        const value = worth + given.holds * (this.sums[kind] as number);
        const left = room - cost;
        const above = table[(i + 1) * parts + this.cellOf(left)] as number;
        if (fixed + value + above <= this.best * (1 + NOISE) + NOISE) continue;
        chosen[kind] = (chosen[kind] ?? 0) + 1;
        go(i, left, levels + 1, value, Math.max(tallest, kind));
        chosen[kind] = (chosen[kind] ?? 0) - 1;
      }
    };
    go(own.next, own.room, own.levels, 0, own.tallest);
    return goes;
  }

  /** Better prices for a node, and with them a lower limit. */
  private tune(node: Node, steps: number): void {
    const { kinds } = this;
    const slope = new Float64Array(kinds);
    let prices = node.prices;
    let scale = 1;
    let stuck = 0;
    for (let i = 0; i < steps; i++) {
      const most = this.valued(node, prices, slope);
      if (most < node.most - NOISE) {
        node.most = most;
        node.prices = prices;
        stuck = 0;
      } else if (++stuck > 4) {
        scale *= 0.6;
        stuck = 0;
        prices = node.prices;
        this.valued(node, prices, slope);
      }
      if (node.most <= this.best) break;
      let norm = 0;
      for (let k = 0; k < kinds; k++) {
        // What would push a price below nothing does not count.
        if ((prices[k] as number) <= 0 && (slope[k] as number) > 0) slope[k] = 0;
        norm += (slope[k] as number) ** 2;
      }
      if (norm < 1e-18) break;
      const aim = Math.max(this.best, node.most * 0.9);
      const step = (scale * (most - aim)) / norm;
      const next = new Float64Array(kinds);
      for (let k = 0; k < kinds; k++)
        next[k] = Math.max(0, (prices[k] as number) - step * (slope[k] as number));
      prices = next;
    }
    node.tuned = true;
  }

  /** The limit of a node at some prices; with `slope` also how it changes with each. */
  private valued(node: Node, prices: Float64Array, slope: Float64Array | null): number {
    this.price(prices);
    this.fillTable(node.columns);
    slope?.fill(0);
    const most = this.valueAt(node, this.restOf(slope), slope);
    // What was noted by class counts for every price up to it.
    if (slope)
      for (let k = this.kinds - 2; k >= 0; k--) slope[k] = (slope[k] as number) + (slope[k + 1] as number);
    return most;
  }

  private price(prices: Float64Array): void {
    let sum = 0;
    for (let k = 0; k < this.kinds; k++) {
      sum += prices[k] as number;
      this.sums[k] = sum;
    }
  }

  /** What the ware is worth above its price. */
  private restOf(slope: Float64Array | null = null): number {
    let rest = 0;
    const { classOf, worths, sizes, sums } = this;
    for (let i = 0; i < classOf.length; i++) {
      const kind = classOf[i] as number;
      const size = sizes[i] as number;
      const above = (worths[i] as number) - size * (sums[kind] as number);
      if (above <= 0) continue;
      rest += above;
      if (slope) slope[kind] = (slope[kind] as number) - size;
    }
    return rest;
  }

  /** Whole parts of room in so many mm. */
  private cellOf(mm: number): number {
    return Math.max(0, Math.floor(mm / this.unit + NOISE));
  }

  /** Row i: the dearest carrying levels among the first i in each number of parts of room. */
  private fillTable(columns: readonly Column[]): void {
    const { table, parts, options, sums, given } = this;
    const last = Math.max(-1, ...columns.map(({ next }) => next));
    const most = this.cellOf(Math.max(0, ...columns.map(({ room }) => room)));
    table.fill(0, 0, most + 1);
    for (let i = 0; i <= last; i++) {
      const { kind, cost } = options[i] as { kind: number; cost: number };
      const step = this.cellOf(cost);
      const value = given.holds * (sums[kind] as number);
      const from = i * parts;
      const to = from + parts;
      for (let r = 0; r <= most; r++) {
        let dearest = table[from + r] as number;
        if (r >= step) {
          const more = value + (table[to + r - step] as number);
          if (more > dearest) dearest = more;
        }
        table[to + r] = dearest;
      }
    }
  }

  /** The limit of a node from the table and the rest. */
  private valueAt(node: Node, rest: number, slope: Float64Array | null): number {
    const { given, sums, parts, table, options } = this;
    const { holds, holdsMore, heights, air } = given;
    const note = (kind: number, size: number) => {
      if (slope && kind >= 0) slope[kind] = (slope[kind] as number) + size;
    };
    let most = rest;
    node.chosen.forEach((count, kind) => {
      if (count === 0) return;
      most += count * holds * (sums[kind] as number);
      note(kind, count * holds);
    });
    for (const column of node.columns) {
      const { next } = column;
      const row = (next + 1) * parts;
      let cell = this.cellOf(column.room);
      let high = Math.max(
        column.tallest,
        column.levels < given.mostLevels && next >= 0 ? (options[next]?.kind ?? -1) : -1,
      );
      if (column.top === null) {
        let best = Number.NEGATIVE_INFINITY;
        let at = -1;
        let from = 0;
        for (let top = -1; top < this.kinds; top++) {
          const left = column.room - air - (heights[top] ?? 0);
          if (left < -NOISE) break;
          const there = this.cellOf(left);
          const worth = (top < 0 ? 0 : holds * (sums[top] as number)) + (table[row + there] as number);
          if (worth > best) {
            best = worth;
            at = top;
            from = there;
          }
        }
        if (at >= 0) {
          most += holds * (sums[at] as number);
          note(at, holds);
        }
        cell = from;
        high = this.kinds - 1;
      }
      most += table[row + cell] as number;
      if (holdsMore > 0 && high >= 0) {
        most += holdsMore * (sums[high] as number);
        note(high, holdsMore);
      }
      if (!slope) continue;
      for (let i = next; i >= 0; ) {
        const here = table[(i + 1) * parts + cell] as number;
        if (here === (table[i * parts + cell] as number)) {
          i--;
          continue;
        }
        const { kind, cost } = options[i] as { kind: number; cost: number };
        note(kind, holds);
        cell -= this.cellOf(cost);
      }
    }
    return most;
  }

  /** The worth of ware in levels that are all chosen. */
  private filled(columns: Column[], chosen: number[]): number {
    const { holds, holdsMore } = this.given;
    const { held, limits, ends, classOf, worths, sizes } = this;
    // From the tallest class with a level down: what levels of it and above hold.
    let groups = 0;
    let limit = 0;
    for (let kind = this.kinds - 1; kind >= 0; kind--) {
      if ((chosen[kind] ?? 0) > 0) {
        limit += (chosen[kind] ?? 0) * holds;
        if (holdsMore > 0) for (const { tallest } of columns) if (tallest === kind) limit += holdsMore;
        limits[groups] = limit;
        held[groups++] = 0;
      }
      // Ware of this class counts against the levels of the groups so far and all further ones.
      ends[kind] = groups;
    }
    if (groups === 0) return 0;
    const all = limits[groups - 1] as number;
    let total = 0;
    let used = 0;
    for (let i = 0; i < classOf.length && used < all - NOISE; i++) {
      const from = ends[classOf[i] as number] as number;
      if (from === 0) continue;
      const size = sizes[i] as number;
      let room = Number.POSITIVE_INFINITY;
      for (let g = from - 1; g < groups; g++) {
        const left = (limits[g] as number) - (held[g] as number);
        if (left < room) room = left;
      }
      if (room <= 0 && size > 0) continue;
      const part = size <= room ? 1 : room / size;
      total += part * (worths[i] as number);
      for (let g = from - 1; g < groups; g++) held[g] = (held[g] as number) + part * size;
      used += part * size;
    }
    return total;
  }
}
