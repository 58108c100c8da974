import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid, Refusal } from '../../core/errors.ts';
import { choice, code, count, flag } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import {
  ATMOSPHERES,
  byFiring,
  FIRING_KINDS,
  type Firing,
  firingWords,
  sameFiring,
} from '../../ware/firing.ts';
import {
  listConflicts,
  listGroups,
  listWaiting,
  type PieceNow,
  wareSettings,
  writtenCone,
} from '../../ware/service/index.ts';
import { kilnFaults } from '../approval.ts';
import { chamberOf } from '../chamber.ts';
import { spotsOf } from '../load-fold.ts';
import { PackingStopped, packInWorker } from '../packing/in-worker.ts';
import type { Load, Piece, Plan, Problem } from '../packing/problem.ts';
import { faultsOf } from '../plan-check.ts';
import {
  type Because,
  chamberLitres,
  compatible,
  isOverdue,
  ownerWord,
  packerPieces,
  prospect,
  type QueueSetting,
  usualShare,
} from '../queue.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { findKiln, type KilnNow, listKilns } from './kilns.ts';
import { append } from './load-ledger.ts';
import { scheduleFor } from './schedules.ts';
import { kilnSettings } from './settings.ts';

/** Who packs: the worker thread, or whatever a test puts in its place. */
export type Packer = (problem: Problem) => Promise<Plan>;

/** More at once makes no fuller load, only a slower one: the most urgent ones are asked for. */
const MOST_ASKED = 600;
const MOST_LOADS = 6;

const firingFields = {
  kind: choice(FIRING_KINDS),
  cone: writtenCone(),
  atmosphere: choice(ATMOSPHERES),
};

export const proposeForm = z.strictObject({
  kiln: code(),
  /** Kilns that are filled with what the first one leaves. */
  alsoKilns: z.array(code()).max(10, 'At most 10.').optional(),
  ...firingFields,
  maxLoads: count(1, MOST_LOADS).optional(),
  /** Leaves alone what other proposals would take. */
  exceptProposed: flag().optional(),
});

/** What a load is asked for. */
export interface ProposalWish {
  kiln: string;
  alsoKilns?: string[] | undefined;
  firing: Firing;
  /** Of each kiln; 1 without it. */
  maxLoads?: number | undefined;
  exceptProposed?: boolean | undefined;
}

/** One load that was packed and checked, with nothing stored of it yet. */
export interface PackedLoad {
  kiln: KilnNow;
  problem: Problem;
  plan: Load;
  bound: Plan['bound'] & { gap: number };
  pieces: PieceNow[];
}

export interface PreparedProposal {
  firing: Firing;
  loads: PackedLoad[];
  unplaced: { number: number; reason: string }[];
}

/** The packer gave up or was stopped: nothing was recorded. */
class PackerStopped extends Refusal {
  readonly status = 503;
  readonly title = 'The packer stopped';
}

/** How full one kiln would be of what no proposal takes of a firing group, and why to fill it now. */
export interface KilnProspect {
  kiln: KilnNow;
  /** Why it cannot be fired so; empty when it can. */
  cannot: string[];
  /** Share of its chamber that it usually holds. */
  usual: number;
  /** Of what it usually holds; more than 1 when there is more than one load of it. */
  share: number;
  reasons: Because[];
  /** Numbers of its proposals for this group. */
  proposed: number[];
}

/** What waits of one firing group. */
export interface GroupProspect {
  firing: Firing;
  ready: number;
  notReady: number;
  oldest: Instant | null;
  /** The nearest date that a ready piece is wanted by. */
  wantedBy: string | null;
  /** Ready pieces that a proposal would take, and how many each of them; the kilns are asked about the others. */
  inProposals: number;
  takenBy: { load: number; pieces: number }[];
  kilns: KilnProspect[];
}

/** What may be proposed now, by firing group and kiln, the most pressing first. From sizes alone: nothing is packed. */
export async function proposals(read: Read): Promise<GroupProspect[]> {
  mustBeAllowed(read.actor, 'loads.plan');
  const [waiting, kilns, settings, shares, proposed, timeZone] = await Promise.all([
    listWaiting(read),
    listKilns(read),
    kilnSettings(read),
    store.sharesUsed(read.tx),
    store.proposedPieces(read.tx),
    studioTimeZone(read.tx),
  ]);
  const found = byFiring(waiting).map(({ firing, items: pieces }): GroupProspect => {
    const ready = pieces.filter(({ isReady }) => isReady);
    const setting = { kind: firing.kind, settings, now: read.now, timeZone };
    const own = proposed.filter((one) => sameFiring(one, firing));
    const taken = new Set(own.map(({ piece }) => piece));
    const free = ready.filter(({ number }) => !taken.has(number));
    const takenBy = [...new Set(own.map(({ load }) => load))]
      .sort((a, b) => a - b)
      .map((load) => {
        const its = new Set(own.flatMap((one) => (one.load === load ? [one.piece] : [])));
        return { load, pieces: ready.filter(({ number }) => its.has(number)).length };
      })
      .filter(({ pieces }) => pieces > 0);
    return {
      firing,
      ready: ready.length,
      notReady: pieces.length - ready.length,
      oldest: pieces[0].waitingSince,
      wantedBy: ready.flatMap(({ wantedBy }) => wantedBy ?? []).sort()[0] ?? null,
      inProposals: ready.length - free.length,
      takenBy,
      kilns: kilns.map((kiln) => {
        const usual = usualShare(
          shares.flatMap(({ kilnId, kind, share }) =>
            kilnId === kiln.id && kind === firing.kind ? [share] : [],
          ),
        );
        return {
          kiln,
          cannot: cannotFire(kiln, firing),
          usual,
          ...prospect(free, chamberLitres(kiln), usual, setting),
          proposed: [...new Set(own.flatMap(({ load, kilnId }) => (kilnId === kiln.id ? [load] : [])))].sort(
            (a, b) => a - b,
          ),
        };
      }),
    };
  });
  return found.sort(
    (a, b) =>
      Number(asks(b)) - Number(asks(a)) ||
      (a.oldest ?? read.now) - (b.oldest ?? read.now) ||
      firingWords(a.firing).localeCompare(firingWords(b.firing)),
  );
}

const asks = ({ kilns }: GroupProspect): boolean =>
  kilns.some(({ cannot, reasons }) => cannot.length === 0 && reasons.length > 0);

/** Why a kiln cannot be fired so, as sentences; empty when it can. */
export const cannotFire = (kiln: KilnNow, firing: Firing): string[] => kilnFaults(kilnFacts(kiln), firing);

/** A kiln as the checks before an approval see it. */
export const kilnFacts = (kiln: KilnNow) => ({
  name: kiln.name,
  isInService: kiln.service === 'in-service' && kiln.retiredAt === null,
  serviceCause: kiln.serviceCause,
  maxCone: kiln.maxCone,
  atmospheres: kiln.atmospheres,
});

/**
 * Packs what is ready of a firing group into loads of one or more kilns, each kiln taking from what the ones before it
 * left. Takes seconds: call it outside any transaction, and store what it answers with `saveProposals`.
 * @throws Conflict where nothing is ready or nothing fits, Invalid for a kiln that cannot be fired so, a refusal with
 *   status 503 when the packer was stopped
 */
export async function prepareProposal(
  read: Read,
  wish: ProposalWish,
  packer: Packer = packInWorker,
): Promise<PreparedProposal> {
  mustBeAllowed(read.actor, 'loads.plan');
  const { firing } = wish;
  const kilns = await chosenKilns(read, wish);
  const [waiting, settings] = await Promise.all([listWaiting(read, firing), kilnSettings(read)]);
  const ready = waiting.filter(({ isReady }) => isReady);
  if (ready.length === 0)
    throw new Conflict(
      waiting.length === 0
        ? `Nothing waits for ${firingWords(firing)}.`
        : `Nothing that waits for ${firingWords(firing)} is ready yet.`,
    );
  const taken = wish.exceptProposed ? await store.proposedPieces(read.tx) : [];
  let left = ready.filter(({ number }) => !taken.some(({ piece }) => piece === number));
  if (left.length === 0) throw new Conflict('All that is ready is in other proposals already.');
  const timeZone = await studioTimeZone(read.tx);
  const setting = { kind: firing.kind, settings, now: read.now, timeZone };
  const loads: PackedLoad[] = [];
  let unplaced: PreparedProposal['unplaced'] = [];
  for (const kiln of kilns) {
    const packed = await packQueue(
      read,
      { kiln, firing, queue: left, maxLoads: wish.maxLoads ?? 1, setting },
      packer,
    );
    loads.push(...packed.loads);
    left = packed.left;
    unplaced = packed.unplaced;
    if (left.length === 0) break;
  }
  if (loads.length === 0) {
    const [first] = unplaced;
    throw new Conflict(
      `Nothing of it fits${first ? `: piece ${first.number}, ${lowered(first.reason)}` : ''}.`,
    );
  }
  return { firing, loads, unplaced };
}

/** The packer's reasons go on inside a sentence. */
export const lowered = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);

async function chosenKilns(read: Read, { kiln, alsoKilns = [], firing }: ProposalWish): Promise<KilnNow[]> {
  const codes = [kiln, ...alsoKilns];
  if (new Set(codes.map((one) => one.toLowerCase())).size < codes.length)
    throw new Invalid([{ path: 'alsoKilns', message: 'Name each kiln once.' }]);
  return Promise.all(
    codes.map(async (one, index) => {
      const found = await findKiln(read, one);
      const faults = cannotFire(found, firing);
      if (faults.length > 0)
        throw new Invalid([{ path: index === 0 ? 'kiln' : 'alsoKilns', message: faults.join(' ') }]);
      return found;
    }),
  );
}

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
): Promise<{ loads: PackedLoad[]; left: PieceNow[]; unplaced: PreparedProposal['unplaced'] }> {
  const [rules, groups] = await Promise.all([listConflicts(read), listGroups(read)]);
  const heads = new Map(
    groups.map(({ id, people }) => [ownerWord({ kind: 'group', id }), people.length + 1]),
  );
  const setting = { ...asked, heads };
  const chamber = chamberOf(kiln, asked.settings, firing);
  const loads: PackedLoad[] = [];
  let left = queue;
  let unplaced: PreparedProposal['unplaced'] = [];
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

/** Stores prepared loads as proposals, which reserve nothing; answers their numbers. */
export async function saveProposals(
  act: Act,
  { firing, loads }: PreparedProposal,
): Promise<{ loads: number[] }> {
  mustBeAllowed(act.actor, 'loads.plan');
  const numbers: number[] = [];
  const { thickAboveMm } = await wareSettings(act);
  for (const { kiln, problem, plan, bound, pieces } of loads) {
    const thick = pieces.some(({ thickestMm }) => thickestMm > thickAboveMm);
    const schedule = await scheduleFor(act, firing, { thick });
    const load = await ledgerStore.insertLoad(act.tx, {
      kilnId: kiln.id,
      state: 'proposed',
      ...firing,
      scheduleId: schedule?.id ?? null,
      problem,
      plan,
      bound,
      wishes: { pins: {}, leftOut: [] },
      proposedAt: act.now,
      onCall: '',
    });
    const ids = new Map(pieces.map(({ number, id }) => [number, id]));
    const spots = spotsOf(plan);
    await store.insertPieces(
      act.tx,
      load.id,
      spots.map(({ number, part, level }) => ({
        pieceId: ids.get(number) as number,
        part,
        level,
        reserves: false,
        isIn: null,
      })),
    );
    await append(act, load, {
      kind: 'proposed',
      state: 'proposed',
      payload: { placed: spots, removed: [], use: plan.use, gap: bound.gap },
    });
    numbers.push(load.number);
  }
  return { loads: numbers };
}
