import { groupBy } from './group.ts';

/** What ware is fired for. Bisque hardens greenware; lustre and decals go over a fired glaze. */
export const FIRING_KINDS = ['bisque', 'glaze', 'lustre', 'other'] as const;
export type FiringKind = (typeof FIRING_KINDS)[number];

export const ATMOSPHERES = ['oxidation', 'reduction'] as const;
export type Atmosphere = (typeof ATMOSPHERES)[number];

/** A firing group: pieces that ask for the same one may share a load. */
export interface Firing {
  kind: FiringKind;
  cone: string;
  atmosphere: Atmosphere;
}

const KIND_WORDS: Record<FiringKind, string> = {
  bisque: 'bisque',
  glaze: 'glaze',
  lustre: 'lustre or decal',
  other: 'other',
};

/** 'glaze, cone 6 oxidation' */
export const firingWords = ({ kind, cone, atmosphere }: Firing): string =>
  `${KIND_WORDS[kind]}, cone ${cone} ${atmosphere}`;

/** What asks for a firing by the one it asks for, each group in the order it came; what asks for none is left out. */
export function byFiring<T extends { next: Firing | null }>(
  items: readonly T[],
): { firing: Firing; items: [T, ...T[]] }[] {
  const groups = groupBy(items, ({ next }) => next && firingWords(next));
  return [...groups.values()].flatMap((group) =>
    group[0].next === null ? [] : [{ firing: group[0].next, items: group }],
  );
}

export const sameFiring = (a: Firing, b: Firing): boolean =>
  a.kind === b.kind && a.cone === b.cone && a.atmosphere === b.atmosphere;
