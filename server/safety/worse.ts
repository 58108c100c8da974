import { HAZARD_CLASSES } from '../materials/hazards.ts';

/** The classes of a mixture by one set of rules, as a notice was drafted from them. */
export interface ClassBasis {
  rules: 'un' | 'eu-clp' | 'us-hazcom';
  /** 'STOT RE 2 H373', sorted. */
  classes: string[];
}

/** The classes as they are kept beside a notice: each once, sorted, without how they came about. */
export function basisOf(
  rules: ClassBasis['rules'],
  classes: readonly { hazardClass: string; hCode: string }[],
): ClassBasis {
  const written = classes.map(({ hazardClass, hCode }) => `${hazardClass} ${hCode}`);
  return { rules, classes: [...new Set(written)].sort() };
}

/** Whether both say the same by the same rules. */
export const sameBasis = (a: ClassBasis, b: ClassBasis): boolean =>
  a.rules === b.rules &&
  a.classes.length === b.classes.length &&
  a.classes.every((c, at) => c === b.classes[at]);

/**
 * Whether somebody who was told the earlier classes must be told again: a hazard that was not among them, or a more
 * severe category of one that was. A route (swallowed, skin, inhaled), an organ effect and each side of a reproductive
 * hazard (fertility, the unborn child) counts for itself. What vanished or grew milder is not worse; which organs a STOT
 * class is for is not kept, so that two that become one are not worse either. A class that is written in no way known
 * here is worse unless it was there before.
 */
export function isWorse(earlier: ClassBasis, later: ClassBasis): boolean {
  const told = new Map<string, number>();
  for (const [facet, rank] of allFacets(earlier)) told.set(facet, Math.min(rank, told.get(facet) ?? rank));
  return allFacets(later).some(([facet, rank]) => rank < (told.get(facet) ?? Infinity));
}

/** Facets of every class, and that two STOT classes of a kind stand side by side: each is for organs of its own. */
function allFacets({ classes }: ClassBasis): Facet[] {
  const stot = ['STOT SE', 'STOT RE'].filter((kind) =>
    [1, 2].every((category) => classes.some((one) => one.startsWith(`${kind} ${category} `))),
  );
  return [...classes.flatMap(facets), ...stot.map((kind): Facet => [`${kind} of other organs`, 1])];
}

const ROUTES: Readonly<Record<string, string>> = { H30: 'swallowed', H31: 'skin', H33: 'inhaled' };
const MILDEST_REPR = 3;

type Facet = [facet: string, rank: number];

/** What a class says, each with its rank: 1 the most severe. */
function facets(written: string): Facet[] {
  const space = written.lastIndexOf(' ');
  const hCode = written.slice(space + 1);
  const known = HAZARD_CLASSES[written.slice(0, space)];
  if (!known) return [[written, 1]];
  const { kind, rank } = known;
  switch (kind) {
    case 'acute':
      return [[`acute ${ROUTES[hCode.slice(0, 3)] ?? hCode}`, rank]];
    case 'stot-se-3':
      return [[hCode, rank]];
    case 'carc':
      return hCode === 'H350i'
        ? [['carc inhaled', rank]]
        : [
            ['carc inhaled', rank],
            ['carc', rank],
          ];
    case 'repr': {
      const letters = hCode.slice(4) || 'FD';
      const upper = letters.toUpperCase();
      return [...letters].map((letter, at) => [
        `repr ${upper[at]}`,
        letter === letter.toLowerCase() ? MILDEST_REPR : rank,
      ]);
    }
    case 'physical':
      return [[written.slice(0, space).replace(/ \d$/, ''), rank]];
    default:
      return [[kind, rank]];
  }
}
