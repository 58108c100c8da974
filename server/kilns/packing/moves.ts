import { type Chamber, chamberOf, middleOf, type Obstacle } from './chamber.ts';
import { Floor } from './floor.ts';
import type { Level, Load, Piece, Placement, Problem } from './problem.ts';
import { useOf } from './settle.ts';
import { squeeze } from './squeeze.ts';
import { canStack, putOn, type Shape, type Unit, unitOf, type Ware, waresOf } from './ware.ts';

/** A place on one of a load's levels; `levelIndex` counts from 0 in `load.levels`. */
export interface Spot {
  levelIndex: number;
  xMm: number;
  yMm: number;
  turned: boolean;
}

export type MoveResult = { load: Load } | { refused: string };

/** The largest round piece that still finds room on a level, mm. */
export interface Opening {
  levelIndex: number;
  circleMm: number;
  heightMm: number;
}

/** A hand, a pointer or a typed number is this far off at most when it means a place right beside. */
const SNAP_MM = 5;
const NUDGES = 60;
/** Deeper in than this, a piece stands in another's place rather than too close to it. */
const IN_ITS_PLACE_MM = 20;
/** What floating point makes of exact contact. */
const TOUCH = 1e-7;
/** Round pieces smaller than this are not worth a word. */
const SMALLEST_MM = 40;
const SPOTS_A_LEVEL = 4;

interface Standing {
  unit: Unit;
  x: number;
  y: number;
  turned: boolean;
}

/**
 * Moves a piece, with whatever stands on it, to another place of its load. Dropped onto a stack of its like it is
 * put on top of that; dropped within 5 mm of a legal place it takes that. Nothing else in the load changes.
 * @returns the new load, or in words why the move cannot be made
 */
export function tryMove(problem: Problem, load: Load, pieceId: string, to: Spot): MoveResult {
  const taken = lifted(problem, load, pieceId);
  if (!taken) return { refused: `Piece ${pieceId} is not in this load` };
  return setDown(problem, taken.load, taken.unit, to);
}

/**
 * Puts another piece of the problem into a load, at a place, or at the best one there is.
 * @returns the new load, or in words why it cannot stand there
 */
export function addPiece(problem: Problem, load: Load, pieceId: string, to?: Spot): MoveResult {
  const ware = wareOf(problem, pieceId);
  const piece = problem.pieces.find(({ id }) => id === pieceId);
  if (!ware || !piece) return { refused: `There is no piece ${pieceId}` };
  if (load.levels.some((level) => level.pieces.some(({ id }) => id === pieceId)))
    return { refused: `Piece ${pieceId} is in this load already` };
  const stranger = load.levels
    .flatMap((level) => level.pieces)
    .map(({ id }) => problem.pieces.find((other) => other.id === id))
    .find((other) => other && other.group !== piece.group);
  if (stranger) return { refused: `It is fired in another way than piece ${stranger.id}` };
  const spot = to ?? freeSpots(problem, load, piece)[0];
  if (!spot) return { refused: 'No level has room for it' };
  return setDown(problem, load, unitOf(ware), spot);
}

/** The load without a piece; what stood on it comes down by as much. The same load when the piece is not in it. */
export function removePiece(problem: Problem, load: Load, pieceId: string): Load {
  const levels = load.levels.map((level) => {
    const gone = level.pieces.find(({ id }) => id === pieceId);
    if (!gone) return level;
    const others = level.pieces.filter((p) => p !== gone);
    const sameStack = others.filter((p) => p.xMm === gone.xMm && p.yMm === gone.yMm);
    const rest = others.filter((p) => !sameStack.includes(p));
    return { ...level, pieces: [...rest, ...restacked(problem, sameStack)] };
  });
  return withUse(problem, levels);
}

/**
 * A few legal places for a piece, best first: the level whose height it wastes least, then the lower one. On top of
 * its like counts as a place. When the piece is in the load its own place does not stand in its way.
 */
export function freeSpots(problem: Problem, load: Load, piece: Piece, levelIndex?: number): Spot[] {
  const [ware] = waresOf([piece]);
  if (!ware) return [];
  const taken = lifted(problem, load, piece.id);
  const unit = taken?.unit ?? unitOf(ware);
  const rest = taken?.load ?? load;
  const chamber = chamberOf(problem);
  const found: (Spot & { waste: number })[] = [];
  rest.levels.forEach((level, index) => {
    if (levelIndex !== undefined && index !== levelIndex) return;
    if (pinFault(rest, index, unit)) return;
    const waste = headroom(chamber, rest, index) - unit.heightMm;
    if (waste < -TOUCH) return;
    const standing = standingOn(problem, level);
    if (unit.wares.length === 1)
      for (const { unit: under, x, y, turned } of standing)
        if (canStack(under, ware, headroom(chamber, rest, index)))
          found.push({ levelIndex: index, xMm: x, yMm: y, turned, waste: waste - unit.heightMm });
    let spots: Spot[] = [];
    for (const turned of unit.r > 0 || unit.hw === unit.hd ? [false] : [false, true]) {
      const hw = turned ? unit.hd : unit.hw;
      const hd = turned ? unit.hw : unit.hd;
      for (const rule of RULES) {
        const floor = floorOf(chamber, rest, index, standing, rule);
        for (const { x, y } of floor.places(hw, hd, unit.r, unit.heightMm, 2))
          if (!spots.some((s) => s.turned === turned && Math.hypot(s.xMm - x, s.yMm - y) < 1))
            spots.push({ levelIndex: index, xMm: x, yMm: y, turned });
      }
    }
    spots = spots.slice(0, SPOTS_A_LEVEL);
    found.push(...spots.map((spot) => ({ ...spot, waste })));
  });
  found.sort((a, b) => a.waste - b.waste || a.levelIndex - b.levelIndex);
  return found.map(({ levelIndex: index, xMm, yMm, turned }) => ({ levelIndex: index, xMm, yMm, turned }));
}

/** For each level the largest round piece that still fits, whole mm, and how tall it may be; small ones left out. */
export function stillFits(problem: Problem, load: Load): Opening[] {
  const chamber = chamberOf(problem);
  const openings: Opening[] = [];
  load.levels.forEach((level, levelIndex) => {
    const heightMm = Math.floor(headroom(chamber, load, levelIndex) + TOUCH);
    if (heightMm < 1) return;
    const standing = standingOn(problem, level);
    const fits = (diameterMm: number) =>
      RULES.some((rule) => {
        const floor = floorOf(chamber, load, levelIndex, standing, rule);
        return floor.places(0, 0, diameterMm / 2, heightMm, 1).length > 0;
      });
    const { x0, y0, x1, y1 } = chamber.regions[level.part].box;
    let low = 0;
    let high = Math.floor(Math.min(x1 - x0, y1 - y0)) + 1;
    while (high - low > 1) {
      const mid = (low + high) >> 1;
      if (fits(mid)) low = mid;
      else high = mid;
    }
    if (low >= SMALLEST_MM) openings.push({ levelIndex, circleMm: low, heightMm });
  });
  return openings;
}

const RULES = [
  { ax: 0, ay: 0.001, q: -1, fit: 0, angle: Math.PI / 2 },
  { ax: 0.01, ay: 1, q: 0, fit: 0, angle: 0 },
  { ax: -0.01, ay: -1, q: 0, fit: 0, angle: Math.PI },
] as const;

function setDown(problem: Problem, load: Load, unit: Unit, to: Spot): MoveResult {
  const chamber = chamberOf(problem);
  const level = load.levels[to.levelIndex];
  if (!level) return { refused: 'There is no such level' };
  if (!Number.isFinite(to.xMm) || !Number.isFinite(to.yMm))
    return { refused: 'That is no place on the shelf' };
  const pinned = pinFault(load, to.levelIndex, unit);
  if (pinned) return { refused: pinned };
  const standing = standingOn(problem, level);
  const single = unit.wares.length === 1 ? unit.wares[0] : undefined;
  const room = headroom(chamber, load, to.levelIndex);
  const under = standing.find((s) => within(s, to.xMm, to.yMm));
  if (single && under && canStack(under.unit, single, room + TOUCH))
    return { load: placed(problem, load, to.levelIndex, unit, under.x, under.y, under.turned, under) };
  const tall = heightFault(chamber, load, to.levelIndex, unit);
  if (tall) return { refused: tall };
  const turned = to.turned && unit.r === 0;
  const hw = turned ? unit.hd : unit.hw;
  const hd = turned ? unit.hw : unit.hd;
  const floor = floorOf(chamber, load, to.levelIndex, standing, RULES[0]);
  if (floor.isFree(to.xMm, to.yMm, hw, hd, unit.r, unit.heightMm))
    return { load: placed(problem, load, to.levelIndex, unit, to.xMm, to.yMm, turned) };
  const beside = nudged(chamber, load, to, { hw, hd, r: unit.r }, standing);
  if (beside && floor.isFree(beside.x, beside.y, hw, hd, unit.r, unit.heightMm))
    return { load: placed(problem, load, to.levelIndex, unit, beside.x, beside.y, turned) };
  return { refused: placeFault(chamber, load, to, unit, hw, hd, standing) };
}

/** The place a shape is pushed to by the edge and by what it would touch; null when that is further than meant. */
function nudged(
  chamber: Chamber,
  load: Load,
  { levelIndex, xMm, yMm }: Spot,
  shape: Shape,
  standing: readonly Standing[],
): { x: number; y: number } | null {
  const always = { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY };
  const others = standing.map(({ unit, x, y, turned }): Obstacle => {
    const { hw, hd, r } = unit;
    return { x, y, hw: turned ? hd : hw, hd: turned ? hw : hd, r, gap: chamber.gap, ...always };
  });
  const fixed = [...obstacles(chamber, load, levelIndex), ...others];
  const region = chamber.regions[load.levels[levelIndex]?.part ?? 'full'];
  const x = Float64Array.of(xMm);
  const y = Float64Array.of(yMm);
  if (!squeeze(region, fixed, chamber.gap, [shape], x, y, NUDGES)) return null;
  const to = { x: x[0] ?? xMm, y: y[0] ?? yMm };
  return Math.hypot(to.x - xMm, to.y - yMm) <= SNAP_MM ? to : null;
}

/** Takes a piece and what stands on it out of a load. */
function lifted(problem: Problem, load: Load, pieceId: string): { load: Load; unit: Unit } | null {
  for (const level of load.levels) {
    const foot = level.pieces.find(({ id }) => id === pieceId);
    if (!foot) continue;
    const above = level.pieces.filter((p) => p.xMm === foot.xMm && p.yMm === foot.yMm && p.zMm >= foot.zMm);
    const levels = load.levels.map((each) =>
      each === level ? { ...each, pieces: each.pieces.filter((p) => !above.includes(p)) } : each,
    );
    const [standing] = gathered(problem, above);
    return standing ? { load: { ...load, levels }, unit: standing.unit } : null;
  }
  return null;
}

function placed(
  problem: Problem,
  load: Load,
  levelIndex: number,
  unit: Unit,
  xMm: number,
  yMm: number,
  turned: boolean,
  onto?: Standing,
): Load {
  const ids = onto?.unit.wares.map(({ id }) => id) ?? [];
  const levels = load.levels.map((level, index) => {
    if (index !== levelIndex) return level;
    const under = ids.flatMap((id) => level.pieces.filter((p) => p.id === id));
    const rest = level.pieces.filter((p) => !under.includes(p));
    const more = unit.wares.map(
      (ware): Placement => ({ id: ware.id, xMm, yMm, turned, zMm: Number.MAX_VALUE }),
    );
    return { ...level, pieces: [...rest, ...restacked(problem, [...under, ...more])] };
  });
  return withUse(problem, levels);
}

function withUse(problem: Problem, levels: Level[]): Load {
  return { levels, use: useOf(problem, levels) };
}

/** The pieces of one stack with their heights above the shelf worked out anew, lowest first. */
function restacked(problem: Problem, pieces: Placement[]): Placement[] {
  const order = [...pieces].sort((a, b) => a.zMm - b.zMm);
  const unit = stackOf(problem, order);
  return order.map((piece, k) => ({ ...piece, zMm: unit?.zMm[k] ?? 0 }));
}

function stackOf(problem: Problem, order: readonly Placement[]): Unit | null {
  const wares = order.map(({ id }) => wareOf(problem, id)).filter((ware) => ware !== undefined);
  const [bottom, ...others] = wares;
  if (!bottom) return null;
  const unit = unitOf(bottom);
  for (const ware of others) {
    putOn(unit, ware);
    unit.pin ||= ware.pin;
  }
  return unit;
}

function gathered(problem: Problem, pieces: readonly Placement[]): Standing[] {
  const stacks = new Map<string, Placement[]>();
  for (const piece of pieces) {
    const key = `${piece.xMm} ${piece.yMm}`;
    stacks.set(key, [...(stacks.get(key) ?? []), piece]);
  }
  return [...stacks.values()].flatMap((stack) => {
    const order = stack.sort((a, b) => a.zMm - b.zMm);
    const unit = stackOf(problem, order);
    const foot = order[0];
    return unit && foot ? [{ unit, x: foot.xMm, y: foot.yMm, turned: foot.turned }] : [];
  });
}

function standingOn(problem: Problem, level: Level): Standing[] {
  return gathered(problem, level.pieces);
}

function wareOf(problem: Problem, id: string): Ware | undefined {
  const piece = problem.pieces.find((each) => each.id === id);
  return piece && waresOf([piece])[0];
}

/** The sides of a level on which another one stands on it. */
function carried(load: Load, index: number): { any: boolean; all: boolean } {
  const part = load.levels[index]?.part;
  const above = load.levels.slice(index + 1).map((level) => level.part);
  if (part !== undefined && part !== 'full') return { any: above.includes(part), all: above.includes(part) };
  const full = above.includes('full');
  const left = full || above.includes('left');
  const right = full || above.includes('right');
  return { any: left || right, all: left && right };
}

/** How tall ware on a level may be, mm. */
function headroom(chamber: Chamber, load: Load, index: number): number {
  const level = load.levels[index];
  if (!level) return 0;
  const { any, all } = carried(load, index);
  const { usableHeightMm, topClearanceMm, clearanceMm } = chamber.problem;
  const lid = usableHeightMm - level.baseMm - topClearanceMm;
  const shelf = (level.posts ?? []).reduce((sum, post) => sum + post, 0) - clearanceMm;
  if (!any) return lid;
  return all ? shelf : Math.min(lid, shelf);
}

function obstacles(chamber: Chamber, load: Load, index: number): Obstacle[] {
  const part = load.levels[index]?.part ?? 'full';
  return carried(load, index).any
    ? [...chamber.posts[part], ...chamber.keepOuts[part]]
    : chamber.keepOuts[part];
}

function floorOf(
  chamber: Chamber,
  load: Load,
  index: number,
  standing: readonly Standing[],
  rule: Parameters<Floor['clear']>[2],
): Floor {
  const level = load.levels[index];
  const floor = new Floor(chamber.regions[level?.part ?? 'full'], chamber.gap);
  floor.clear(obstacles(chamber, load, index), level?.baseMm ?? 0, rule);
  for (const { unit, x, y, turned } of standing)
    floor.put(x, y, turned ? unit.hd : unit.hw, turned ? unit.hw : unit.hd, unit.r);
  return floor;
}

// Reasons, in words.

function levelName(load: Load, index: number): string {
  const part = load.levels[index]?.part ?? 'full';
  return `level ${nth(load, index)}${part === 'full' ? '' : `, ${part}`}`;
}

/** Counted from 1 at the floor, on its side. */
function nth(load: Load, index: number): number {
  const part = load.levels[index]?.part ?? 'full';
  return load.levels.slice(0, index + 1).filter((level) => level.part === 'full' || level.part === part)
    .length;
}

function pinFault(load: Load, index: number, unit: Unit): string | null {
  if (unit.pin === 0 || unit.pin === nth(load, index)) return null;
  return `It is pinned to level ${unit.pin}`;
}

function heightFault(chamber: Chamber, load: Load, index: number, unit: Unit): string | null {
  const room = headroom(chamber, load, index);
  if (unit.heightMm <= room + TOUCH) return null;
  const { clearanceMm, topClearanceMm } = chamber.problem;
  const level = load.levels[index];
  const posts = (level?.posts ?? []).reduce((sum, post) => sum + post, 0);
  const name = levelName(load, index);
  if (level?.posts && posts - clearanceMm <= room)
    return `Too tall for the posts of ${name}: ${mm(unit.heightMm)} mm and ${mm(clearanceMm)} mm of air need ${mm(unit.heightMm + clearanceMm)}, the posts are ${mm(posts)}`;
  return `Too tall for ${name}: ${mm(unit.heightMm)} mm and ${mm(topClearanceMm)} mm of air need ${mm(unit.heightMm + topClearanceMm)}, there are ${mm(Math.max(room + topClearanceMm, 0))} up to the top`;
}

function placeFault(
  chamber: Chamber,
  load: Load,
  to: Spot,
  unit: Unit,
  hw: number,
  hd: number,
  standing: readonly Standing[],
): string {
  const level = load.levels[to.levelIndex];
  const part = level?.part ?? 'full';
  const out = overEdge(chamber, hw, hd, unit.r, to);
  const { edgeGapMm = 0, splitGapMm = 0 } = chamber.problem;
  if (out > edgeGapMm + TOUCH)
    return `It would stand ${mm(out - edgeGapMm)} mm out over the edge of the shelf`;
  if (out > TOUCH) return `It would stand ${mm(out)} mm too close to the edge of the shelf`;
  const side = part === 'left' ? 1 : -1;
  const across =
    part === 'full' ? 0 : side * (to.xMm - middleOf(chamber.problem)) + hw + unit.r + splitGapMm / 2;
  if (across > TOUCH) return `It would stand ${mm(across)} mm too far over the split of the half shelves`;
  const found: { by: number; words: string }[] = [];
  const note = (apart: number, what: string) => {
    const by = chamber.gap - apart;
    const inItsPlace = apart < -IN_ITS_PLACE_MM;
    const words = inItsPlace ? `in the place of ${what}` : `${mm(by)} mm too close to ${what}`;
    if (by > TOUCH) found.push({ by, words: `It would stand ${words}` });
  };
  for (const s of standing) {
    const w = s.turned ? s.unit.hd : s.unit.hw;
    const d = s.turned ? s.unit.hw : s.unit.hd;
    const apart = distance(to, hw, hd, unit.r, s.x, s.y, w, d, s.unit.r);
    note(apart, `piece ${s.unit.wares[0]?.id}`);
  }
  if (carried(load, to.levelIndex).any)
    for (const post of chamber.posts[part]) {
      note(distance(to, hw, hd, unit.r, post.x, post.y, post.hw, post.hd, 0), 'a post');
    }
  const [worst] = found.sort((a, b) => b.by - a.by);
  return worst?.words ?? 'Nothing may stand there';
}

/** How far a shape reaches over the outline drawn in by the edge gap, mm. */
function overEdge(chamber: Chamber, hw: number, hd: number, r: number, { xMm: x, yMm: y }: Spot): number {
  const { disc, lines } = chamber.regions.full;
  let out = Number.NEGATIVE_INFINITY;
  if (disc > 0)
    out = r > 0 ? Math.hypot(x, y) + r - disc : Math.hypot(Math.abs(x) + hw, Math.abs(y) + hd) - disc;
  for (let i = 0; i < lines.length; i += 3) {
    const a = lines[i] as number;
    const b = lines[i + 1] as number;
    out = Math.max(out, a * x + b * y + r + hw * Math.abs(a) + hd * Math.abs(b) - (lines[i + 2] as number));
  }
  return out;
}

/** Between two shapes, mm; below 0 where they overlap. */
function distance(
  at: Spot,
  hw: number,
  hd: number,
  r: number,
  x: number,
  y: number,
  w: number,
  d: number,
  round: number,
): number {
  const dx = Math.abs(at.xMm - x) - hw - w;
  const dy = Math.abs(at.yMm - y) - hd - d;
  if (r === 0 && round === 0) return Math.max(dx, dy);
  const apart = dx <= 0 && dy <= 0 ? Math.max(dx, dy) : Math.hypot(Math.max(dx, 0), Math.max(dy, 0));
  return apart - r - round;
}

function within({ unit, x, y, turned }: Standing, px: number, py: number): boolean {
  if (unit.r > 0) return Math.hypot(px - x, py - y) <= unit.r / 2;
  const w = turned ? unit.hd : unit.hw;
  const d = turned ? unit.hw : unit.hd;
  return Math.abs(px - x) <= w / 2 && Math.abs(py - y) <= d / 2;
}

/** A length as a person says it: tenths of a mm, below one mm rounded up so that it never reads 0. */
function mm(length: number): string {
  return length < 1 ? (Math.ceil(length * 10 - 1e-6) / 10).toString() : String(Math.round(length * 10) / 10);
}
