import type {
  Footprint,
  KeepOut,
  Level,
  Load,
  Piece,
  Placement,
  Plan,
  Problem,
  Shelf,
} from './packing/problem.ts';

// Shares no geometry with the packer on purpose: what one of them gets wrong the other one shall find.

/** Forgiven in every length, mm: what floating point makes of exact contact. */
const FORGIVEN = 1e-6;
/** Forgiven in shares and the gap. */
const FORGIVEN_SHARE = 1e-6;

const MOST = { nest: 3, 'rim-to-rim': 2, pile: 4 } as const; // common practice, no source
const NEST_STEP = 0.4; // of the piece's height; common practice, no source
const LIKE_SIZE = 1.1; // common practice, no source

type Side = 'left' | 'right';
type StandingStack = keyof typeof MOST;

interface Body {
  round: boolean;
  /** Half the width (the radius) and half the depth as it stands, without its tray, mm. */
  halfX: number;
  halfY: number;
  tray: number;
  height: number;
  /** Floor it covers and room it fills, mm² and mm³, without its tray. */
  area: number;
}

interface Standing {
  piece: Piece;
  body: Body;
  at: Placement;
}

/**
 * Everything that is wrong with a plan, in words, one sentence a fault; empty when the plan can be built: pieces
 * inside the outline and apart, stacks as allowed, bases and posts as they add up, stock of posts and shelves kept,
 * keep-outs clear, groups apart, pins kept, every piece in exactly one place, none left out that could have a load to
 * itself, and shares, bound and gap that agree with the loads. Lengths in mm; exact contact is forgiven to 1e-6 mm.
 * Throws nothing for a well-typed plan, whatever its numbers.
 */
export function faultsOf(problem: Problem, plan: Plan): string[] {
  return [
    ...accountFaults(problem, plan),
    ...leftOutFaults(problem, plan),
    ...plan.loads.flatMap((load, index) =>
      loadFaults(problem, load).map((fault) => `Load ${index + 1}${fault}`),
    ),
    ...boundFaults(problem, plan),
  ];
}

function accountFaults(problem: Problem, plan: Plan): string[] {
  const faults: string[] = [];
  const seen = new Map<string, number>();
  const count = (id: string) => seen.set(id, (seen.get(id) ?? 0) + 1);
  for (const load of plan.loads)
    for (const level of load.levels) for (const { id } of level.pieces) count(id);
  for (const { id, reason } of plan.unplaced) {
    count(id);
    if (reason.trim() === '') faults.push(`Piece ${id} is left out without a reason`);
  }
  for (const { id } of problem.pieces) {
    const times = seen.get(id) ?? 0;
    if (times === 0) faults.push(`Piece ${id} is in no load and not among those left out`);
    if (times > 1) faults.push(`Piece ${id} is in ${times} places`);
    seen.delete(id);
  }
  for (const id of seen.keys()) faults.push(`Piece ${id} is not in the problem`);
  if (problem.maxLoads !== undefined && plan.loads.length > problem.maxLoads)
    faults.push(`${plan.loads.length} loads, at most ${problem.maxLoads} wanted`);
  return faults;
}

/** Pieces left out though one more load is allowed and they plainly stand in it alone, in the middle of its floor. */
function leftOutFaults(problem: Problem, plan: Plan): string[] {
  if (plan.loads.length >= (problem.maxLoads ?? Number.POSITIVE_INFINITY)) return [];
  if (problem.shelves?.full === 0 || problem.keepOuts?.length) return [];
  const { shelf } = problem;
  const [xMm, yMm] = shelf.shape === 'rectangle' ? [shelf.widthMm / 2, shelf.depthMm / 2] : [0, 0];
  const first = (problem.floorPostMm ?? 0) + problem.shelfThicknessMm;
  const left = new Set(plan.unplaced.map(({ id }) => id));
  return problem.pieces
    .filter((piece) => {
      const worthIt = problem.maxLoads === undefined || (piece.value ?? 1) > 0;
      if (!left.has(piece.id) || !worthIt || (piece.level ?? 1) > 1) return false;
      return [false, true].some((turned) => {
        const body = bodyOf(piece, turned);
        const room = roomAround(shelf, { piece, body, at: { id: piece.id, xMm, yMm, zMm: 0, turned } });
        return (
          room >= (problem.edgeGapMm ?? 0) &&
          first + body.height + problem.topClearanceMm <= problem.usableHeightMm
        );
      });
    })
    .map(({ id }) => `Piece ${id} is left out though it has room in a load of its own`);
}

function boundFaults(problem: Problem, plan: Plan): string[] {
  const faults: string[] = [];
  const loads = plan.loads.length;
  const { bound, gap } = plan;
  const worth = new Map(problem.pieces.map((piece) => [piece.id, piece.value ?? 1]));
  const placed = plan.loads.flatMap((load) => load.levels.flatMap((level) => level.pieces));
  const value = placed.reduce((sum, { id }) => sum + (worth.get(id) ?? 0), 0);
  if (!(bound.loads >= 0) || !Number.isInteger(bound.loads))
    faults.push(`The bound of ${bound.loads} loads is no whole number`);
  if (problem.maxLoads === undefined && !(loads >= bound.loads))
    faults.push(`${loads} loads, fewer than the ${bound.loads} that are proven to be needed`);
  if (!(value <= bound.value * (1 + FORGIVEN_SHARE) + FORGIVEN_SHARE))
    faults.push(`Value ${value} is placed, more than the ${bound.value} that is proven to be possible`);
  const wanted =
    problem.maxLoads === undefined
      ? loads > 0
        ? 1 - bound.loads / loads
        : 0
      : bound.value > 0
        ? 1 - value / bound.value
        : 0;
  if (!(Math.abs(gap - wanted) <= FORGIVEN_SHARE)) faults.push(`The gap is given as ${gap}, it is ${wanted}`);
  if (!(plan.elapsedMs >= 0 && plan.elapsedMs < Number.POSITIVE_INFINITY))
    faults.push(`${plan.elapsedMs} ms is no time`);
  if (!Number.isInteger(plan.seed)) faults.push(`${plan.seed} is no seed`);
  return faults;
}

/** Faults of one load, each beginning where "Load 1" ends. */
function loadFaults(problem: Problem, load: Load): string[] {
  const byId = new Map(problem.pieces.map((piece) => [piece.id, piece]));
  const faults = buildFaults(problem, load).map((fault) => `: ${fault}`);
  const levels = load.levels.map((level) => {
    const standing: Standing[] = [];
    for (const at of level.pieces) {
      const piece = byId.get(at.id);
      if (piece) standing.push({ piece, at, body: bodyOf(piece, at.turned) });
    }
    return standing;
  });
  const all = levels.flat();
  if (all.length === 0) faults.push(': nothing is in it');
  const groups = new Set(all.map(({ piece }) => piece.group));
  if (groups.size > 1)
    faults.push(
      `: ${[...groups].map((group) => (group === undefined ? 'no group' : `group ${group}`)).join(' and ')} share it`,
    );
  load.levels.forEach((level, index) => {
    const name = nameOf(load, index);
    const here = levels[index] ?? [];
    for (const fault of levelFaults(problem, load, index, here)) faults.push(`, ${name}: ${fault}`);
    const nth = nthOf(load, index);
    for (const { piece } of here)
      if (piece.level !== undefined && piece.level !== nth)
        faults.push(`, ${name}: piece ${piece.id} is pinned to level ${piece.level}`);
    if (level.part !== 'full' && !problem.halves) faults.push(`, ${name}: half shelves may not be used`);
  });
  faults.push(...useFaults(problem, load, all));
  return faults;
}

function useFaults(problem: Problem, load: Load, all: Standing[]): string[] {
  const outline = outlineArea(problem.shelf);
  const shelves = load.levels.reduce((sum, { part }) => sum + (part === 'full' ? 1 : 0.5) * outline, 0);
  const floor = all.reduce((sum, { body, at }) => sum + (at.zMm > FORGIVEN ? 0 : body.area), 0);
  const room = all.reduce((sum, { body }) => sum + body.area * body.height, 0);
  const wanted = {
    area: shelves > 0 ? floor / shelves : 0,
    volume: room / (outline * problem.usableHeightMm),
  };
  const faults: string[] = [];
  for (const share of ['area', 'volume'] as const)
    if (!(Math.abs(load.use[share] - wanted[share]) <= FORGIVEN_SHARE))
      faults.push(`: its use of ${share} is given as ${load.use[share]}, it is ${wanted[share]}`);
  return faults;
}

// How the shelves are built up.

const sidesOf = ({ part }: Level): Side[] => (part === 'full' ? ['left', 'right'] : [part]);
const onSide = (load: Load, side: Side) =>
  load.levels.flatMap((level, index) =>
    level.part === 'full' || level.part === side ? [{ level, index }] : [],
  );

/** Counted from 1 at the floor, on its side. */
function nthOf(load: Load, index: number): number {
  const level = load.levels[index];
  const side = level && sidesOf(level)[0];
  return side ? onSide(load, side).findIndex((each) => each.index === index) + 1 : 0;
}

function nameOf(load: Load, index: number): string {
  const part = load.levels[index]?.part ?? 'full';
  return `level ${nthOf(load, index)}${part === 'full' ? '' : ` ${part}`}`;
}

/** The levels that stand on this one: none, one, or two half shelves. */
function carriedBy(load: Load, index: number): Set<number> {
  const level = load.levels[index];
  const above = (level ? sidesOf(level) : []).map((side) => {
    const column = onSide(load, side);
    return column[column.findIndex((each) => each.index === index) + 1]?.index;
  });
  return new Set(above.filter((each) => each !== undefined));
}

/** Whether nothing stands above this level on one of its sides. */
const isTopmost = (load: Load, index: number, level: Level) =>
  sidesOf(level).some((side) => onSide(load, side).at(-1)?.index === index);

function buildFaults(problem: Problem, load: Load): string[] {
  const faults: string[] = [];
  const first = (problem.floorPostMm ?? 0) + problem.shelfThicknessMm;
  let below: Level['part'] = 'full';
  for (const { part } of load.levels) {
    if (part === 'full' && below !== 'full') faults.push('a full shelf stands above half shelves');
    below = part;
  }
  // Counted once a level, though a full level belongs to both sides.
  const told = new Set<string>();
  const tell = (fault: string) => {
    if (!told.has(fault)) faults.push(fault);
    told.add(fault);
  };
  for (const side of ['left', 'right'] as const) {
    const column = onSide(load, side);
    if (problem.maxLevels !== undefined && column.length > problem.maxLevels)
      tell(`${column.length} levels, at most ${problem.maxLevels} wanted`);
    let base = first;
    for (const { level, index } of column) {
      const name = nameOf(load, index);
      if (!(Math.abs(level.baseMm - base) <= FORGIVEN))
        tell(`${name} is said to be at ${mm(level.baseMm)}, it is at ${mm(base)} mm`);
      if (!(base <= problem.usableHeightMm + FORGIVEN))
        tell(`${name} at ${mm(base)} mm is above the usable ${mm(problem.usableHeightMm)} mm`);
      base += sum(level.posts ?? []) + problem.shelfThicknessMm;
    }
  }
  const used = new Map<number, number>();
  const hasHalves = load.levels.some(({ part }) => part !== 'full');
  load.levels.forEach((level, index) => {
    const name = nameOf(load, index);
    const carried = carriedBy(load, index);
    const { posts } = level;
    if (carried.size === 0) {
      if (posts !== null) faults.push(`${name} has posts but carries nothing`);
      return;
    }
    if (posts === null || posts.length === 0) {
      faults.push(`${name} carries a shelf without posts`);
      return;
    }
    if (posts.length > (problem.stackedPosts ? 2 : 1))
      faults.push(
        `${name} has ${posts.length} posts on one another, at most ${problem.stackedPosts ? 2 : 1} wanted`,
      );
    // A post stands exactly on the one below: what half shelves stand on goes down to the floor on both sides.
    const carriesFull = [...carried].some((above) => load.levels[above]?.part === 'full');
    const columns = hasHalves && carriesFull ? 2 : carried.size;
    for (const post of posts) used.set(post, (used.get(post) ?? 0) + columns * (problem.postsPerShelf ?? 3));
  });
  for (const [height, count] of used) {
    const stock = sum(problem.posts.filter((post) => post.heightMm === height).map((post) => post.count));
    if (stock === 0) faults.push(`there are no posts of ${mm(height)} mm`);
    else if (count > stock) faults.push(`${count} posts of ${mm(height)} mm are used, there are ${stock}`);
  }
  for (const kind of ['full', 'half'] as const) {
    const count = load.levels.filter(({ part }) => (part === 'full') === (kind === 'full')).length;
    const stock = problem.shelves?.[kind];
    if (stock !== undefined && count > stock)
      faults.push(`${count} ${kind} shelves are used, there are ${stock}`);
  }
  return faults;
}

// One level.

function levelFaults(problem: Problem, load: Load, index: number, here: Standing[]): string[] {
  const level = load.levels[index];
  if (!level) return [];
  const faults: string[] = [];
  for (const { piece, at } of here) {
    if (![at.xMm, at.yMm, at.zMm].every(Number.isFinite)) {
      faults.push(`piece ${piece.id} stands nowhere`);
      return faults;
    }
    if (at.turned && kindOf(piece) !== 'on-edge' && piece.footprint.shape === 'circle')
      faults.push(`piece ${piece.id} is round and need not be turned`);
  }
  const stacks = stacksOf(here);
  for (const stack of stacks) faults.push(...stackFaults(stack));
  for (const one of here) {
    const room = roomAround(problem.shelf, one);
    const wanted = problem.edgeGapMm ?? 0;
    if (!(room >= wanted - FORGIVEN))
      faults.push(
        room < 0
          ? `piece ${one.piece.id} sticks out by ${mm(-room)} mm`
          : `piece ${one.piece.id} is ${mm(room)} mm from the edge, ${mm(wanted)} wanted`,
      );
    if (level.part !== 'full') {
      const split = problem.shelf.shape === 'rectangle' ? problem.shelf.widthMm / 2 : 0;
      const half = one.body.halfX + one.body.tray;
      const clear = level.part === 'left' ? split - (one.at.xMm + half) : one.at.xMm - half - split;
      if (!(clear >= (problem.splitGapMm ?? 0) / 2 - FORGIVEN))
        faults.push(
          `piece ${one.piece.id} is ${mm(clear)} mm from the split, ${mm((problem.splitGapMm ?? 0) / 2)} wanted`,
        );
    }
  }
  for (let i = 0; i < stacks.length; i++)
    for (let j = i + 1; j < stacks.length; j++) {
      const near = nearest(stacks[i] ?? [], stacks[j] ?? []);
      if (near && !(near.apart >= problem.pieceGapMm - FORGIVEN))
        faults.push(
          near.apart < 0
            ? `pieces ${near.a} and ${near.b} overlap by ${mm(-near.apart)} mm`
            : `pieces ${near.a} and ${near.b} are ${mm(near.apart)} mm apart, ${mm(problem.pieceGapMm)} wanted`,
        );
    }
  faults.push(...heightFaults(problem, load, index, here), ...obstacleFaults(problem, load, index, here));
  return faults;
}

function heightFaults(problem: Problem, load: Load, index: number, here: Standing[]): string[] {
  const level = load.levels[index];
  if (!level) return [];
  if (here.length === 0) {
    const reach = level.baseMm + problem.topClearanceMm;
    return isTopmost(load, index, level) && !(reach <= problem.usableHeightMm + FORGIVEN)
      ? [
          `nothing stands on it and it reaches ${mm(reach)} mm with the air above it, ${mm(problem.usableHeightMm)} are usable`,
        ]
      : [];
  }
  const tallest = here.reduce((a, b) => (topOf(b) > topOf(a) ? b : a));
  const top = topOf(tallest);
  const faults: string[] = [];
  if (carriedBy(load, index).size > 0) {
    const free = sum(level.posts ?? []);
    if (!(top + problem.clearanceMm <= free + FORGIVEN))
      faults.push(
        `piece ${tallest.piece.id} reaches ${mm(top)} mm and wants ${mm(problem.clearanceMm)} of air, the posts are ${mm(free)}`,
      );
  }
  if (isTopmost(load, index, level)) {
    const reach = level.baseMm + top + problem.topClearanceMm;
    if (!(reach <= problem.usableHeightMm + FORGIVEN))
      faults.push(
        `piece ${tallest.piece.id} and the air above it reach ${mm(reach)} mm, ${mm(problem.usableHeightMm)} are usable`,
      );
  }
  return faults;
}

function obstacleFaults(problem: Problem, load: Load, index: number, here: Standing[]): string[] {
  const level = load.levels[index];
  if (!level) return [];
  const faults: string[] = [];
  const split = problem.shelf.shape === 'rectangle' ? problem.shelf.widthMm / 2 : 0;
  if (carriedBy(load, index).size > 0)
    for (const post of problem.postPositions ?? []) {
      if (level.part === 'left' && post.xMm - post.widthMm / 2 >= split) continue;
      if (level.part === 'right' && post.xMm + post.widthMm / 2 <= split) continue;
      for (const one of here) {
        const apart = apartFrom(one, { shape: 'rectangle', ...post });
        if (!(apart >= problem.pieceGapMm - FORGIVEN))
          faults.push(
            `piece ${one.piece.id} is ${mm(apart)} mm from the post at ${mm(post.xMm)}, ${mm(post.yMm)}, ${mm(problem.pieceGapMm)} wanted`,
          );
      }
    }
  for (const keepOut of problem.keepOuts ?? [])
    for (const one of here) {
      const from = level.baseMm + one.at.zMm;
      const to = from + one.body.height;
      const beside =
        to <= (keepOut.fromMm ?? Number.NEGATIVE_INFINITY) + FORGIVEN ||
        from >= (keepOut.toMm ?? Number.POSITIVE_INFINITY) - FORGIVEN;
      if (!beside && !(apartFrom(one, keepOut) >= -FORGIVEN))
        faults.push(
          `piece ${one.piece.id} stands where nothing may, at ${mm(keepOut.xMm)}, ${mm(keepOut.yMm)}`,
        );
    }
  return faults;
}

// Stacks.

/** A piece on a tray stands on its own. */
function kindOf(piece: Piece): string {
  if (piece.tray) return 'none';
  return typeof piece.stack === 'object' ? piece.stack.kind : (piece.stack ?? 'none');
}

const detail = (piece: Piece) => (typeof piece.stack === 'object' ? piece.stack : undefined);

function stacksOf(here: Standing[]): Standing[][] {
  const stacks: Standing[][] = [];
  const byCell = new Map<string, Standing[][]>();
  for (const one of here) {
    const cell = [Math.round(one.at.xMm), Math.round(one.at.yMm)] as const;
    const near = [-1, 0, 1].flatMap((dx) =>
      [-1, 0, 1].flatMap((dy) => byCell.get(`${cell[0] + dx} ${cell[1] + dy}`) ?? []),
    );
    const mine = near.find(
      ([bottom]) =>
        bottom &&
        Math.abs(bottom.at.xMm - one.at.xMm) <= FORGIVEN &&
        Math.abs(bottom.at.yMm - one.at.yMm) <= FORGIVEN,
    );
    if (mine) mine.push(one);
    else {
      const fresh = [one];
      stacks.push(fresh);
      byCell.set(`${cell[0]} ${cell[1]}`, [...(byCell.get(`${cell[0]} ${cell[1]}`) ?? []), fresh]);
    }
  }
  for (const stack of stacks) stack.sort((a, b) => a.at.zMm - b.at.zMm);
  return stacks;
}

function stackFaults(stack: Standing[]): string[] {
  const [bottom] = stack;
  if (!bottom) return [];
  const faults: string[] = [];
  if (!(Math.abs(bottom.at.zMm) <= FORGIVEN))
    faults.push(`piece ${bottom.piece.id} hangs ${mm(bottom.at.zMm)} mm above the shelf`);
  if (stack.length === 1) return faults;
  const names = stack.map(({ piece }) => piece.id).join(', ');
  const kind = kindOf(bottom.piece);
  if (!(kind in MOST) || stack.some(({ piece }) => kindOf(piece) !== kind))
    return [...faults, `pieces ${names} may not stand on one another`];
  const standing = kind as StandingStack;
  if (new Set(stack.map(({ piece }) => detail(piece)?.like)).size > 1)
    faults.push(`pieces ${names} are not of a kind and share a stack`);
  const most = Math.min(...stack.map(({ piece }) => detail(piece)?.most ?? MOST[standing]));
  if (stack.length > most)
    faults.push(`pieces ${names} are ${stack.length} in a stack, at most ${most} wanted`);
  const sizes = [stack.map(({ body }) => body.halfX), stack.map(({ body }) => body.halfY)];
  if (standing === 'rim-to-rim') sizes.push(stack.map(({ body }) => body.height));
  const alike = sizes.every((all) => Math.max(...all) <= LIKE_SIZE * Math.min(...all) + FORGIVEN);
  if (!alike || new Set(stack.map(({ body }) => body.round)).size > 1)
    faults.push(`pieces ${names} are not of like size and share a stack`);
  let z = 0;
  stack.forEach((one, k) => {
    const under = stack[k - 1];
    if (!under) return;
    // A plate stands as high as the one below it is, a bowl as far up as it goes into the one below.
    z += standing === 'rim-to-rim' ? under.body.height : stepOf(standing === 'pile' ? under : one, standing);
    if (!(Math.abs(one.at.zMm - z) <= FORGIVEN))
      faults.push(`piece ${one.piece.id} is said to be ${mm(one.at.zMm)} mm up its stack, it is ${mm(z)}`);
    const overhangs =
      one.body.halfX > under.body.halfX + FORGIVEN || one.body.halfY > under.body.halfY + FORGIVEN;
    if (standing !== 'rim-to-rim' && overhangs)
      faults.push(`piece ${one.piece.id} stands on the smaller ${under.piece.id}`);
  });
  return faults;
}

function stepOf({ piece, body }: Standing, kind: StandingStack): number {
  return detail(piece)?.stepMm ?? (kind === 'nest' ? NEST_STEP : 1) * body.height;
}

// Geometry: exact formulas, signed (below 0 is how far shapes reach into one another, or out of the outline).

function bodyOf(piece: Piece, turned: boolean): Body {
  const onEdge = kindOf(piece) === 'on-edge';
  const { footprint } = piece;
  let [width, depth, height] =
    footprint.shape === 'circle'
      ? [footprint.diameterMm, footprint.diameterMm, piece.heightMm]
      : [footprint.widthMm, footprint.depthMm, piece.heightMm];
  if (onEdge) [width, depth, height] = [Math.max(width, depth), height, Math.min(width, depth)];
  const round = footprint.shape === 'circle' && !onEdge;
  return {
    round,
    halfX: (turned && !round ? depth : width) / 2,
    halfY: (turned && !round ? width : depth) / 2,
    tray: piece.tray ?? 0,
    height,
    area: round ? (Math.PI * width * width) / 4 : width * depth,
  };
}

const topOf = ({ at, body }: Standing) => at.zMm + body.height;

/** How far apart two stacks are, mm, and which two of their pieces say so. */
function nearest(some: Standing[], others: Standing[]): { apart: number; a: string; b: string } | null {
  let found: { apart: number; a: string; b: string } | null = null;
  for (const one of some)
    for (const other of others) {
      const footprint: Footprint = other.body.round
        ? { shape: 'circle', diameterMm: 2 * (other.body.halfX + other.body.tray) }
        : {
            shape: 'rectangle',
            widthMm: 2 * (other.body.halfX + other.body.tray),
            depthMm: 2 * (other.body.halfY + other.body.tray),
          };
      const apart = apartFrom(one, { ...footprint, xMm: other.at.xMm, yMm: other.at.yMm });
      if (!found || !(apart >= found.apart)) found = { apart, a: one.piece.id, b: other.piece.id };
    }
  return found;
}

/**
 * Distance in mm between a piece with its tray and another shape. Two rectangles are apart by the larger of their gaps
 * in x and in y: less than the distance between two corners, so nothing is let through that a ruler would refuse.
 */
function apartFrom({ body, at }: Standing, other: KeepOut): number {
  const dx = Math.abs(at.xMm - other.xMm);
  const dy = Math.abs(at.yMm - other.yMm);
  const [halfX, halfY] = [body.halfX + body.tray, body.halfY + body.tray];
  if (body.round && other.shape === 'circle') return Math.hypot(dx, dy) - halfX - other.diameterMm / 2;
  if (body.round && other.shape === 'rectangle')
    return circleFromBox(dx - other.widthMm / 2, dy - other.depthMm / 2) - halfX;
  if (other.shape === 'circle') return circleFromBox(dx - halfX, dy - halfY) - other.diameterMm / 2;
  return Math.max(dx - halfX - other.widthMm / 2, dy - halfY - other.depthMm / 2);
}

/** Distance of a point from a box, given how far it lies beyond the box's sides in x and in y; below 0 inside. */
const circleFromBox = (beyondX: number, beyondY: number) =>
  beyondX <= 0 && beyondY <= 0
    ? Math.max(beyondX, beyondY)
    : Math.hypot(Math.max(beyondX, 0), Math.max(beyondY, 0));

/** Least distance in mm from a piece with its tray to the outline; below 0 by how far it sticks out. */
function roomAround(shelf: Shelf, { body, at }: Standing): number {
  const [halfX, halfY] = [body.halfX + body.tray, body.halfY + body.tray];
  const [x, y] = [at.xMm, at.yMm];
  if (shelf.shape === 'rectangle')
    return Math.min(x - halfX, y - halfY, shelf.widthMm - x - halfX, shelf.depthMm - y - halfY);
  if (shelf.shape === 'round')
    return (
      shelf.diameterMm / 2 -
      (body.round ? Math.hypot(x, y) + halfX : Math.hypot(Math.abs(x) + halfX, Math.abs(y) + halfY))
    );
  let room = Number.POSITIVE_INFINITY;
  for (let side = 0; side < shelf.sides; side++) {
    const angle = -Math.PI / 2 + (2 * Math.PI * side) / shelf.sides;
    const [nx, ny] = [Math.cos(angle), Math.sin(angle)];
    const reach = body.round ? halfX : Math.abs(nx) * halfX + Math.abs(ny) * halfY;
    room = Math.min(room, shelf.acrossFlatsMm / 2 - (nx * x + ny * y + reach));
  }
  return room;
}

function outlineArea(shelf: Shelf): number {
  if (shelf.shape === 'rectangle') return shelf.widthMm * shelf.depthMm;
  if (shelf.shape === 'round') return (Math.PI * shelf.diameterMm ** 2) / 4;
  return (shelf.sides * Math.tan(Math.PI / shelf.sides) * shelf.acrossFlatsMm ** 2) / 4;
}

const sum = (numbers: number[]) => numbers.reduce((total, number) => total + number, 0);

/** A length as a person reads it: tenths of a mm, more only where tenths would show nothing. */
function mm(length: number): string {
  const tenths = Math.round(length * 10) / 10;
  return tenths === 0 && length !== 0 ? length.toPrecision(2) : String(tenths);
}
