import type { Chamber, Prop } from './chamber.ts';
import type { Layer } from './layer.ts';

/** The levels of one load: full ones from the floor up, then those of each side on top of them. */
export interface Stackup {
  full: Layer[];
  left: Layer[];
  right: Layer[];
}

const CONTACT = 1e-7;

export const COLUMNS = ['full', 'left', 'right'] as const;

/** All levels, the full ones first. */
export function layersOf(load: Stackup): Layer[] {
  return [...load.full, ...load.left, ...load.right];
}

/** The value of all pieces in some loads. */
export function valueIn(loads: readonly Stackup[]): number {
  let sum = 0;
  for (const load of loads)
    for (const layer of layersOf(load)) for (const ware of layer.wares) sum += ware.value;
  return sum;
}

/** Height in mm that a carrying level takes with the shelf it carries. */
export function stepOf(chamber: Chamber, layer: Layer): number {
  return layer.prop ? layer.prop.sumMm + chamber.thickness : 0;
}

/** mm that the carrying levels of a column take. */
export function carriedMm(chamber: Chamber, layers: readonly Layer[]): number {
  return layers.reduce((sum, layer) => sum + stepOf(chamber, layer), 0);
}

/** How many shelves' worth of each post height are still on the rack. */
export function stockLeft(chamber: Chamber, load: Stackup): number[] {
  const left = [...chamber.stock];
  for (const layer of layersOf(load)) if (layer.prop) take(left, layer.prop);
  // Each post stands exactly on the one below: from the floor to the halves there are the posts of both sides.
  if (load.left.length > 0 || load.right.length > 0) {
    const isSingle = load.left.length === 0 || load.right.length === 0;
    load.full.forEach(({ prop }, i) => {
      const carriesOneSide = isSingle && i === load.full.length - 1;
      if (prop && !carriesOneSide) take(left, prop);
    });
  }
  return left;
}

/** Takes one shelf's worth of posts off the rack. */
export function take(stock: number[], prop: Prop): void {
  stock[prop.a] = (stock[prop.a] as number) - 1;
  if (prop.b >= 0) stock[prop.b] = (stock[prop.b] as number) - 1;
}

/** Whether the rack holds what `times` shelves on this prop take. */
export function inStock(stock: readonly number[], { a, b }: Prop, times = 1): boolean {
  if (b < 0) return (stock[a] as number) >= times;
  if (a === b) return (stock[a] as number) >= 2 * times;
  return (stock[a] as number) >= times && (stock[b] as number) >= times;
}

/** The lowest prop that leaves so many mm free under the next shelf, null when the rack holds none. */
export function propFor(chamber: Chamber, stock: readonly number[], freeMm: number, times = 1): Prop | null {
  const { props } = chamber;
  let low = 0;
  let high = props.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if ((props[mid] as Prop).sumMm < freeMm) low = mid + 1;
    else high = mid;
  }
  for (; low < props.length; low++) if (inStock(stock, props[low] as Prop, times)) return props[low] as Prop;
  return null;
}

/** Whether a load keeps to heights, posts, shelves and pins and, where `zoned`, its ware to the keep-outs. */
export function stands(chamber: Chamber, load: Stackup): boolean {
  const { full, left, right } = load;
  const halves = left.length > 0 || right.length > 0;
  if (full.length > chamber.mostFull || left.length + right.length > chamber.mostHalf) return false;
  if (stockLeft(chamber, load).some((n) => n < 0)) return false;
  const columnStands = (
    layers: readonly Layer[],
    below: number,
    levels: number,
    carriesOn: boolean,
  ): boolean => {
    let used = below;
    return layers.every((layer, i) => {
      const isTop = i === layers.length - 1 && !carriesOn;
      const fits = isTop
        ? layer.prop === null && used + layer.tallest <= chamber.room
        : layer.prop !== null &&
          layer.clear &&
          layer.tallest + chamber.problem.clearanceMm <= layer.prop.sumMm;
      const pinned = layer.wares.every((ware) => ware.pin === 0 || ware.pin === levels + i + 1);
      const free = !chamber.zoned || clearOfZones(chamber, layer, chamber.firstBase + used);
      used += stepOf(chamber, layer);
      return fits && pinned && free && chamber.firstBase + used <= chamber.problem.usableHeightMm;
    });
  };
  const below = carriedMm(chamber, full);
  if (!columnStands(full, 0, 0, halves)) return false;
  if (!columnStands(left, below, full.length, false) || !columnStands(right, below, full.length, false))
    return false;
  if (full.length + Math.max(left.length, right.length) > chamber.mostLevels) return false;
  const last = full[full.length - 1];
  // One side of this level may have nothing above it: there it reaches up to the lid.
  return (
    !(halves && last && (left.length === 0 || right.length === 0)) ||
    below - stepOf(chamber, last) + last.tallest <= chamber.room
  );
}

/** Whether nothing on a layer stands in a keep-out when the layer's shelf is at this height. */
function clearOfZones(chamber: Chamber, layer: Layer, baseMm: number): boolean {
  return layer.spots.every(({ unit, x, y, turned }) => {
    const hw = turned ? unit.hd : unit.hw;
    const hd = turned ? unit.hw : unit.hd;
    return chamber.keepOuts[layer.part].every((k) => {
      if (k.to <= baseMm || k.from >= baseMm + unit.heightMm) return true;
      const dx = Math.abs(x - k.x) - hw - k.hw;
      const dy = Math.abs(y - k.y) - hd - k.hd;
      const round = unit.r + k.r;
      return round === 0
        ? Math.max(dx, dy) >= -CONTACT
        : Math.hypot(Math.max(dx, 0), Math.max(dy, 0)) >= round - CONTACT;
    });
  });
}
