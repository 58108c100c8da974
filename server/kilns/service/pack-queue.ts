import type { Read } from '../../core/actor.ts';
import { Conflict, Refusal } from '../../core/errors.ts';
import type { Firing } from '../../ware/firing.ts';
import { listConflicts, listGroups, type PieceNow } from '../../ware/service/index.ts';
import { chamberOf } from '../chamber.ts';
import { spotsOf } from '../load-fold.ts';
import { PackingStopped } from '../packing/in-worker.ts';
import type { Load, Piece, Plan, Problem } from '../packing/problem.ts';
import { faultsOf } from '../plan-check.ts';
import { compatible, isOverdue, ownerWord, packerPieces, type QueueSetting } from '../queue.ts';
import type { KilnNow } from './kilns.ts';

/** Who packs: the worker thread, or whatever a test puts in its place. */
export type Packer = (problem: Problem) => Promise<Plan>;

/** More at once makes no fuller load, only a slower one: the most urgent ones are asked for. */
const MOST_ASKED = 600;
/** One load that was packed and checked, with nothing stored of it yet. */
export interface PackedLoad {
  kiln: KilnNow;
  problem: Problem;
  plan: Load;
  bound: Plan['bound'] & { gap: number };
  pieces: PieceNow[];
}

/** A piece that went into no load, and why. */
export interface Unplaced {
  number: number;
  reason: string;
}

/** The packer gave up or was stopped: nothing was recorded. */
class PackerStopped extends Refusal {
  readonly status = 503;
  readonly title = 'The packer stopped';
}

/** The packer's reasons go on inside a sentence. */
export const lowered = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);

export interface Queue {
  kiln: KilnNow;
  firing: Firing;
  /** Ready pieces, and those that are in the load already. */
  queue: PieceNow[];
  maxLoads: number;
  setting: QueueSetting;
}

/** Packs a queue: loads, what is left, and why each of those is. Conflicting glazes never share a load. */
export async function packQueue(
  read: Read,
  { kiln, firing, queue, maxLoads, setting: asked }: Queue,
  packer: Packer,
): Promise<{ loads: PackedLoad[]; left: PieceNow[]; unplaced: Unplaced[] }> {
  const [rules, groups] = await Promise.all([listConflicts(read), listGroups(read)]);
  const heads = new Map(
    groups.map(({ id, people }) => [ownerWord({ kind: 'group', id }), people.length + 1]),
  );
  const setting = { ...asked, heads };
  const chamber = chamberOf(kiln, asked.settings, firing);
  const loads: PackedLoad[] = [];
  let left = queue;
  let unplaced: Unplaced[] = [];
  while (loads.length < maxLoads && left.length > 0) {
    const pieces = packerPieces(left, setting);
    const worth = new Map(pieces.map(({ id, value }) => [id, value ?? 0]));
    const pinned = Object.keys(setting.pins ?? {}).map(Number);
    const first = new Set([
      ...pinned,
      ...left.filter((piece) => isOverdue(piece, setting)).map((p) => p.number),
    ]);
    const together = new Set(compatible(left, worth, rules, first).map(({ number }) => String(number)));
    const chosen = mostUrgent(pieces.filter(({ id }) => together.has(id)));
    const problem: Problem = { ...chamber, pieces: pinnedFirst(chosen), maxLoads: maxLoads - loads.length };
    const plan = withoutPinValue(chosen, await packed(packer, problem));
    unplaced = plan.unplaced.map(({ id, reason }) => ({ number: Number(id), reason }));
    if (plan.loads.length === 0) break;
    const made = plan.loads.map((load) => packedLoad({ kiln, chamber, chosen, plan, load, queue: left }));
    loads.push(...made);
    const placed = new Set(made.flatMap((one) => one.pieces.map(({ number }) => number)));
    left = left.filter(({ number }) => !placed.has(number));
    if (chosen.length === pieces.length) break; // nothing was kept apart: the packer had a choice of all
  }
  return { loads, left, unplaced };
}

const mostUrgent = (pieces: Piece[]): Piece[] =>
  pieces.length <= MOST_ASKED
    ? pieces
    : [...pieces]
        .sort(
          (a, b) =>
            Number(b.level !== undefined) - Number(a.level !== undefined) || (b.value ?? 0) - (a.value ?? 0),
        )
        .slice(0, MOST_ASKED);

/** What is pinned comes in before anything else: each is worth more than all the rest. */
function pinnedFirst(pieces: Piece[]): Piece[] {
  const extra = pinValue(pieces);
  return pieces.map((piece) =>
    piece.level === undefined ? piece : { ...piece, value: (piece.value ?? 0) + extra },
  );
}

const pinValue = (pieces: readonly Piece[]): number =>
  pieces.some(({ level }) => level !== undefined)
    ? 1 + pieces.reduce((sum, { value }) => sum + (value ?? 0), 0)
    : 0;

/**
 * The plan valued without that extra. Of plans that keep all the pins, none is worth more than the bound less the extra
 * of each; a plan that leaves one out keeps its bound, which is then only looser.
 */
function withoutPinValue(pieces: readonly Piece[], plan: Plan): Plan {
  const extra = pinValue(pieces);
  if (extra === 0) return plan;
  const placed = new Set(
    plan.loads.flatMap(({ levels }) => levels.flatMap((level) => level.pieces.map(({ id }) => id))),
  );
  const pins = pieces.filter(({ id, level }) => level !== undefined && placed.has(id)).length;
  const value = pieces.reduce((sum, piece) => sum + (placed.has(piece.id) ? (piece.value ?? 0) : 0), 0);
  const bound = { ...plan.bound, value: Math.max(value, plan.bound.value - pins * extra) };
  return { ...plan, bound, gap: bound.value > 0 ? 1 - value / bound.value : 0 };
}

async function packed(packer: Packer, problem: Problem): Promise<Plan> {
  let plan: Plan;
  try {
    plan = await packer(problem);
  } catch (error) {
    if (error instanceof PackingStopped)
      throw new PackerStopped('The packer stopped before it was done. Nothing was recorded: try again.');
    if (error instanceof RangeError) throw new Conflict(`This kiln cannot be packed: ${error.message}`);
    throw error;
  }
  const faults = faultsOf(problem, plan);
  if (faults.length > 0) throw new Error(`The packer's plan cannot be built: ${faults.join('; ')}`);
  return plan;
}

function packedLoad(made: {
  kiln: KilnNow;
  chamber: Omit<Problem, 'pieces'>;
  chosen: Piece[];
  plan: Plan;
  load: Load;
  queue: PieceNow[];
}): PackedLoad {
  const { kiln, chamber, chosen, plan, load, queue } = made;
  const inIt = new Set(spotsOf(load).map(({ number }) => number));
  // A pin is a wish and stays out of the problem: a plan made by hand may wait for the packing that keeps it.
  const pieces = chosen.filter(({ id }) => inIt.has(Number(id))).map(({ level: _, ...piece }) => piece);
  const problem = { ...chamber, pieces };
  mustBeBuildable(problem, load);
  return {
    kiln,
    problem,
    plan: load,
    bound: { ...plan.bound, gap: Math.max(0, plan.gap) },
    pieces: queue.filter(({ number }) => inIt.has(number)),
  };
}

/** What the independent check finds wrong with one load that holds all pieces of its problem. */
export function loadFaults(problem: Problem, load: Load): string[] {
  const value = problem.pieces.reduce((sum, piece) => sum + (piece.value ?? 1), 0);
  const bound = { loads: 1, value };
  return faultsOf(
    { ...problem, maxLoads: 1 },
    { loads: [load], unplaced: [], bound, gap: 0, elapsedMs: 0, seed: 0 },
  );
}

/** No plan with a fault is ever stored: reaching this is a fault of ours. */
export function mustBeBuildable(problem: Problem, load: Load): void {
  const faults = loadFaults(problem, load);
  if (faults.length > 0) throw new Error(`A plan that cannot be built was refused: ${faults.join('; ')}`);
}
