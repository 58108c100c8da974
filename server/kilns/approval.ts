import { compareCones } from '../ware/cone.ts';
import { type Firing, firingWords } from '../ware/firing.ts';
import { groupBy } from '../ware/group.ts';
import { piecesWords } from '../ware/presets.ts';
import { upper } from '../ware/words.ts';
import type { Footprint, Piece, Problem } from './packing/problem.ts';

/** What is looked at before a plan is approved. */
export interface Check {
  check: 'cones' | 'trays' | 'flags' | 'fumes' | 'kiln' | 'plan';
  ok: boolean;
  /** Whole sentences. */
  words: string;
  /** Pieces that it is about. */
  numbers: number[];
}

/** What is the matter with a piece, as it goes on after 'Piece 3' and after 'Pieces 3 and 7', to the full stop. */
export interface Why {
  one: string;
  many: string;
}

/** A piece of the plan as it is now. */
export interface Candidate {
  number: number;
  trayMm: number;
  /** Of the load's firing. */
  gates: readonly { gate: string; ok: boolean; words: string }[];
  /** Why the load cannot have it; null when it can. */
  notHad: Why | null;
  /** As the packer would be asked for it now. */
  asAsked: Piece | null;
}

export interface ForApproval {
  kiln: {
    name: string;
    isInService: boolean;
    serviceCause: string;
    maxCone: string;
    atmospheres: readonly string[];
  };
  firing: Firing;
  problem: Problem;
  pieces: readonly Candidate[];
  /** Pieces whose glazes must not share a load, and why. */
  clashes: readonly { numbers: number[]; why: string }[];
  /** What the independent check finds wrong with the plan. */
  faults: readonly string[];
}

/** Gates that are about heat; whatever else is open counts as a flag. */
const CONE_GATES = new Set(['clay-cone', 'glaze-cone', 'unknown']);

/**
 * Whether a planned load may be approved, one answer a check, in the order they are read; all must be ok. Throws
 * RangeError for what is no cone.
 */
export function approvalChecks(load: ForApproval): Check[] {
  const { firing, pieces, clashes } = load;
  const open = pieces.flatMap(({ number, gates }) =>
    gates.filter(({ ok }) => !ok).map((gate) => ({ number, ...gate })),
  );
  const wrong = (about: { number: number; words: string }[]) =>
    about.map(({ number, words }) => ({ numbers: [number], words: sentence(`Piece ${number}: ${words}`) }));
  return [
    check(
      'cones',
      `Every clay and every glaze takes cone ${firing.cone}.`,
      wrong(open.filter(({ gate }) => CONE_GATES.has(gate))),
    ),
    check('trays', 'Every tray has its room.', wrong(trayFaults(load))),
    check('flags', 'Nothing is flagged.', wrong(open.filter(({ gate }) => !CONE_GATES.has(gate)))),
    check(
      'fumes',
      'No glazes that spoil one another.',
      clashes.map(({ numbers, why }) => ({ numbers, words: sentence(`Pieces ${listed(numbers)}: ${why}`) })),
    ),
    check(
      'kiln',
      `${load.kiln.name} is in service and takes ${firingWords(firing)}.`,
      kilnFaults(load.kiln, firing).map((words) => ({ numbers: [], words })),
    ),
    check('plan', 'Every piece still waits for this load, and the plan can be built.', planFaults(load)),
  ];
}

/** Why a kiln cannot be fired so, as sentences; empty when it can. Throws RangeError for what is no cone. */
export function kilnFaults(kiln: ForApproval['kiln'], firing: Pick<Firing, 'cone' | 'atmosphere'>): string[] {
  const faults: string[] = [];
  if (!kiln.isInService) faults.push(outOfServiceWords(kiln));
  if (compareCones(firing.cone, kiln.maxCone) > 0)
    faults.push(`${kiln.name} takes cone ${kiln.maxCone} at most, not cone ${firing.cone}.`);
  if (!kiln.atmospheres.includes(firing.atmosphere))
    faults.push(`${kiln.name} is not fired in ${firing.atmosphere}.`);
  return faults;
}

/** That a kiln is out of service, and why where that was noted: a sentence. */
export const outOfServiceWords = ({ name, serviceCause }: { name: string; serviceCause: string }): string =>
  sentence(`${name} is out of service${serviceCause && `: ${serviceCause}`}`);

type Fault = { numbers: number[]; words: string };

function check(name: Check['check'], fine: string, faults: Fault[]): Check {
  if (faults.length === 0) return { check: name, ok: true, words: fine, numbers: [] };
  const numbers = [...new Set(faults.flatMap((fault) => fault.numbers))].sort((a, b) => a - b);
  return { check: name, ok: false, words: faults.map(({ words }) => words).join(' '), numbers };
}

function trayFaults({ problem, pieces }: ForApproval): { number: number; words: string }[] {
  const planned = new Map(problem.pieces.map((piece) => [piece.id, piece]));
  return pieces.flatMap(({ number, trayMm }) => {
    const left = planned.get(String(number))?.tray ?? 0;
    if (trayMm <= left) return [];
    const words = `it needs a tray of ${shown(trayMm)} mm all round; the plan leaves ${left > 0 ? `${shown(left)} mm` : 'none'}.`;
    return [{ number, words }];
  });
}

function planFaults({ problem, pieces, faults }: ForApproval): Fault[] {
  const planned = new Map(problem.pieces.map((piece) => [piece.id, piece]));
  return [
    ...together(pieces.flatMap(({ number, notHad }) => (notHad === null ? [] : [{ number, why: notHad }]))),
    ...together(
      pieces.flatMap(({ number, asAsked }) => {
        const plan = planned.get(String(number));
        return asAsked && plan && isLarger(asAsked, plan) ? [{ number, why: GREW }] : [];
      }),
    ),
    ...faults.map((fault) => ({ numbers: [], words: `${fault}.` })),
  ];
}

const GREW: Why = {
  one: 'has been measured since and is larger than planned.',
  many: 'have been measured since and are larger than planned.',
};

/** One sentence for all pieces of which the same is the matter. */
function together(faults: { number: number; why: Why }[]): Fault[] {
  return [...groupBy(faults, ({ why }) => why.one).values()].map((same) => {
    const numbers = same.map(({ number }) => number);
    const { one, many } = same[0].why;
    return { numbers, words: `${upper(piecesWords(numbers))} ${numbers.length === 1 ? one : many}` };
  });
}

function isLarger(now: Piece, planned: Piece): boolean {
  const [a, b] = [sides(now.footprint), sides(planned.footprint)];
  return now.heightMm > planned.heightMm + 1e-6 || a.some((side, i) => side > (b[i] ?? 0) + 1e-6);
}

const sides = (footprint: Footprint): number[] =>
  footprint.shape === 'circle'
    ? [footprint.diameterMm, footprint.diameterMm]
    : [footprint.widthMm, footprint.depthMm].sort((a, b) => a - b);

/** Words that somebody typed, or that end in them, closed so that others may follow. */
export const sentence = (words: string): string => (/[.!?…]$/.test(words) ? words : `${words}.`);

/** '3, 12 and 40' */
export function listed(numbers: readonly number[]): string {
  const all = [...numbers].sort((a, b) => a - b).map(String);
  return all.length < 2 ? all.join('') : `${all.slice(0, -1).join(', ')} and ${all.at(-1)}`;
}

const shown = (mm: number): string => String(Math.round(mm * 10) / 10);
