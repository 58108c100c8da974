import { type Chamber, outlineAreaOf } from './chamber.ts';
import type { Layer } from './layer.ts';
import type { Level, Load, Piece, Placement, Problem } from './problem.ts';
import { COLUMNS, carriedMm, layersOf, propFor, type Stackup, stands, stepOf, stockLeft } from './stackup.ts';
import { waresOf } from './ware.ts';

const WRONG_PLACE = 1e12;

/**
 * The same levels in the order they are built in: the level with the tallest ware where the kiln wants it, then heavy
 * ware low (least sum of kg times height of its shelf). Never answers a load that does not stand.
 */
export function settled(chamber: Chamber, load: Stackup): Stackup {
  let best = load;
  for (const part of COLUMNS) {
    if (best[part].length < 2) continue;
    let bestScore = score(chamber, best);
    for (const layers of orders(chamber, best, part)) {
      const next = { ...best, [part]: layers };
      const nextScore = score(chamber, next);
      if (nextScore < bestScore - 1e-9 && stands(chamber, next)) {
        best = next;
        bestScore = nextScore;
      }
    }
  }
  return best;
}

/** Orders of one column worth trying: every level that may be topmost on top, the rest heavy low. */
function* orders(chamber: Chamber, load: Stackup, part: keyof Stackup): Generator<Layer[]> {
  const layers = load[part];
  const carriesOn = part === 'full' && load.left.length + load.right.length > 0;
  const density = (layer: Layer) => layer.kg / Math.max(stepOf(chamber, layer), 1);
  const heavyLow = (some: Layer[]) => [...some].sort((a, b) => density(b) - density(a));
  const tallest = layers.reduce((a, b) => (b.tallest > a.tallest ? b : a));
  const lowTall = (some: Layer[]) =>
    [...some].sort((a, b) => Number(b.tallest === tallest.tallest) - Number(a.tallest === tallest.tallest));
  if (carriesOn) {
    const sorted = heavyLow(layers);
    yield sorted;
    yield lowTall(sorted);
    for (const last of layers) yield [...heavyLow(layers.filter((layer) => layer !== last)), last];
    return;
  }
  const oldTop = layers[layers.length - 1] as Layer;
  for (const top of layers) {
    let rest = layers.filter((layer) => layer !== top);
    if (top !== oldTop) {
      if (!oldTop.clear) continue;
      const without = { ...load, [part]: rest.filter((layer) => layer !== oldTop) };
      const prop = propFor(
        chamber,
        stockLeft(chamber, without),
        oldTop.tallest + chamber.problem.clearanceMm,
      );
      if (!prop) continue;
      rest = rest.map((layer) => (layer === oldTop ? { ...layer, prop } : layer));
    }
    const sorted = heavyLow(rest);
    const last = { ...top, prop: null };
    yield [...sorted, last];
    yield [...lowTall(sorted), last];
  }
}

function score(chamber: Chamber, load: Stackup): number {
  const { tallLevel = 'any' } = chamber.problem;
  let sum = 0;
  for (const part of COLUMNS) {
    let base = chamber.firstBase + (part === 'full' ? 0 : carriedMm(chamber, load.full));
    for (const layer of load[part]) {
      sum += layer.kg * base;
      base += stepOf(chamber, layer);
    }
  }
  if (tallLevel === 'any') return sum;
  const all = layersOf(load);
  const tallest = Math.max(...all.map((layer) => layer.tallest));
  const at = all.filter((layer) => layer.tallest === tallest);
  const right = at.some((layer) =>
    tallLevel === 'top'
      ? layer.prop === null
      : layer === load[layer.part][0] && (layer.part === 'full' || load.full.length === 0),
  );
  return right ? sum : sum + WRONG_PLACE;
}

/** A load as the plan shows it: levels with bases and posts, pieces at their places, and the shares in use. */
export function loadOf(chamber: Chamber, load: Stackup): Load {
  const levels: Level[] = [];
  for (const part of COLUMNS) {
    let base = chamber.firstBase + (part === 'full' ? 0 : carriedMm(chamber, load.full));
    for (const layer of load[part]) {
      levels.push({
        part,
        baseMm: base,
        posts: layer.prop ? postsOf(chamber, layer) : null,
        pieces: layer.spots.flatMap(({ unit, x, y, turned }) =>
          unit.wares.map(
            (ware, k): Placement => ({ id: ware.id, xMm: x, yMm: y, turned, zMm: unit.zMm[k] as number }),
          ),
        ),
      });
      base += stepOf(chamber, layer);
    }
  }
  return { levels, use: useOf(chamber.problem, levels) };
}

function postsOf(chamber: Chamber, { prop }: Layer): number[] {
  if (!prop) return [];
  const low = chamber.postHeights[prop.a] as number;
  return prop.b < 0 ? [low] : [low, chamber.postHeights[prop.b] as number];
}

/**
 * Shares from 0 to 1: footprints standing on the shelves in use against the area of those shelves, and the space the
 * pieces bound against that of the chamber, outline times usable height. Trays do not count.
 */
export function useOf(problem: Problem, levels: readonly Level[]): Load['use'] {
  const byId = new Map<string, Piece>(problem.pieces.map((piece) => [piece.id, piece]));
  const outline = outlineAreaOf(problem);
  let shelves = 0;
  let floor = 0;
  let space = 0;
  for (const { part, pieces } of levels) {
    shelves += part === 'full' ? outline : outline / 2;
    for (const { id, zMm } of pieces) {
      const piece = byId.get(id);
      if (!piece) continue;
      const [ware] = waresOf([piece]);
      if (!ware) continue;
      if (zMm === 0) floor += ware.bareArea;
      space += ware.bareArea * ware.heightMm;
    }
  }
  return {
    area: shelves > 0 ? floor / shelves : 0,
    volume: space / (outline * problem.usableHeightMm),
  };
}
