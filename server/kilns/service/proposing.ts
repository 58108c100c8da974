import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
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
import { listWaiting, listWaitingSizes, wareSettings, writtenCone } from '../../ware/service/index.ts';
import { kilnFaults } from '../approval.ts';
import { spotsOf } from '../load-fold.ts';
import { packInWorker } from '../packing/in-worker.ts';
import { type Because, chamberLitres, prospect, usualShare } from '../queue.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { findKiln, type KilnNow, listKilns } from './kilns.ts';
import { append } from './load-ledger.ts';
import { lowered, type PackedLoad, type Packer, packQueue, type Unplaced } from './pack-queue.ts';
import { scheduleFor } from './schedules.ts';
import { kilnSettings } from './settings.ts';

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

export interface PreparedProposal {
  firing: Firing;
  loads: PackedLoad[];
  unplaced: Unplaced[];
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
    listWaitingSizes(read),
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
