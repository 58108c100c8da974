import type { z } from 'zod';
import { createKiln, findKiln, type KilnNow, kilnBody } from '../../server/kilns/service/index.ts';
import type { Person, Studio } from './studio.ts';

let serial = 0;

const COMMON = {
  shelfThicknessMm: 16,
  posts: [
    { heightMm: 60, count: 24 },
    { heightMm: 100, count: 24 },
    { heightMm: 150, count: 24 },
    { heightMm: 200, count: 24 },
  ],
  maxCone: '10',
  atmospheres: ['oxidation'],
  power: 'electric',
} as const;

const KILNS = {
  /** Loads from the top: 550 mm across, five full shelves and four half ones. */
  round: {
    ...COMMON,
    name: 'Round kiln',
    opens: 'top',
    shelf: { shape: 'round', diameterMm: 550 },
    fullShelves: 5,
    halfShelves: 4,
    usableHeightMm: 680,
    kilowatts: 11,
  },
  /** Loads from the front: 600 by 500 mm, six full shelves. */
  front: {
    ...COMMON,
    name: 'Front loader',
    opens: 'front',
    shelf: { shape: 'rectangle', widthMm: 600, depthMm: 500 },
    fullShelves: 6,
    usableHeightMm: 750,
    kilowatts: 18,
  },
} as const;

type Body = z.input<typeof kilnBody>;

/** A kiln made by the technician, who may fire it together with `firers`; figures may be given otherwise. */
export async function aKiln(
  s: Studio,
  {
    like = 'round',
    firers = [],
    ...other
  }: { like?: keyof typeof KILNS; firers?: Person[] } & Partial<Omit<Body, 'firers'>> = {},
): Promise<KilnNow> {
  const { technician } = s.people;
  const body = kilnBody.parse({
    code: `K${++serial}`,
    ...KILNS[like],
    ...other,
    firers: [technician, ...firers].map(({ email }) => email),
  });
  await s.as(technician, (act) => createKiln(act, body));
  return findKiln({ tx: s.database.db, actor: technician.caller, now: s.clock.now() }, body.code);
}
