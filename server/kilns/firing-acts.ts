import type { LoadFacts } from './load-fold.ts';

/** What of a load decides what may be done with its firing. */
interface FiringOf {
  number: number;
  state: LoadFacts['state'];
  /** Not by being cracked. */
  openedAt: number | null;
  /** By the newest reading since it was shut off. */
  letsHandsIn: boolean;
  kiln: { power: 'electric' | 'gas'; mayFire: boolean };
}

export interface FiringAct {
  label: string;
  href: string;
  small?: string;
}

/**
 * Where a load goes on from 'loaded', the next thing first; what only looks comes last. Empty before it is loaded.
 * @param reader whether whoever looks is a technician, who records outcomes and logs
 */
export function firingActs(load: FiringOf, reader: { mayLoad: boolean }): FiringAct[] {
  const { state, kiln, openedAt, letsHandsIn } = load;
  const at = (page: string) => `/kilns/loads/${load.number}/${page}`;
  const isThere = kiln.mayFire || reader.mayLoad;
  const curve = { label: 'Curve and cones', href: at('curve') };
  const log = reader.mayLoad ? [{ label: 'Bring in the log', href: at('log') }] : [];
  const cones = reader.mayLoad ? [{ label: 'Read the witness cones', href: at('cones') }] : [];
  switch (state) {
    case 'loaded':
      return isThere
        ? [
            {
              label: 'The list before firing',
              small: 'Posts, cones, lid, vent, who is on call. Then it is started.',
              href: at('check'),
            },
            ...(kiln.mayFire ? [{ label: 'Start it', href: at('start') }] : []),
          ]
        : [];
    case 'firing':
      return [
        ...(isThere && kiln.power === 'gas'
          ? [{ label: 'Write a line of the hand log', small: 'Every 30 minutes.', href: at('gas') }]
          : []),
        ...(isThere
          ? [
              { label: 'Read the pyrometer', href: at('readings') },
              { label: 'It is shut off', href: at('shut-off') },
            ]
          : []),
        curve,
        ...log,
      ];
    case 'cooling': {
      const isOpen = openedAt !== null;
      const unload =
        isOpen && reader.mayLoad
          ? [{ label: 'Unload it', small: 'All good but the ones you name.', href: at('unload') }]
          : [];
      return [
        ...(letsHandsIn ? unload : []),
        ...(isThere
          ? [
              {
                label: 'Type a reading',
                small: 'Only what the pyrometer says tells what may be done.',
                href: at('readings'),
              },
              { label: 'Open it', small: 'Type what the pyrometer says first.', href: at('open') },
            ]
          : [{ label: 'When may it be opened?', href: at('open') }]),
        ...(letsHandsIn ? [] : unload),
        ...(isOpen ? cones : []),
        curve,
        ...log,
      ];
    }
    case 'unloaded':
      return [
        curve,
        ...(reader.mayLoad
          ? [
              { label: 'How the pieces came out', href: at('outcomes') },
              { label: 'What it cost', href: `/fees/loads/${load.number}` },
            ]
          : []),
        ...cones,
        ...log,
      ];
    default:
      return [];
  }
}
