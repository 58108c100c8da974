import { toWallTime } from '../../server/core/wall-time.ts';
import { tariffs } from '../../server/fees/schema.ts';
import type { Line, Tariff } from '../../server/fees/tariff.ts';
import { finishLoading, loadLevel } from '../../server/kilns/service/index.ts';
import type { Firing } from '../../server/ware/firing.ts';
import { aKiln } from './kilns.ts';
import { aProposal, approved, pageOf } from './loads.ts';
import type { Studio } from './studio.ts';

let serial = 0;

/** One line for every kind of firing. */
export const line = (basis: Line['basis'], more: Partial<Line> = {}): Line => ({
  code: 'FIRE',
  name: 'Firing',
  kinds: [],
  basis,
  ...more,
});

/** By half shelves of 250 cm²: £4.00 a half, £7.00 a shelf, £40.00 a load of twelve halves. */
export const HALF_SHELVES = line({
  by: 'shelf',
  halfMinor: 400,
  shelfMinor: 700,
  loadMinor: 4000,
  halfShelfCm2: 250,
  halvesALoad: 12,
});

/** £3.50 a litre, nothing else. */
export const plainList = (more: Partial<Tariff> = {}): Tariff => ({
  v: 1,
  rounding: 'half-up',
  stepMinor: 1,
  minimumMinor: 0,
  tax: null,
  lines: [line({ by: 'volume', minorPer: '350', unit: 'litre' })],
  factors: [],
  rush: null,
  monthly: [],
  items: [],
  lossPercent: '100',
  lossOf: 'this-firing',
  ...more,
});

/** The day of the studio's calendar. */
export const dayOf = (at: number): string => toWallTime(at, 'Europe/London').slice(0, 10);

/** A price list in force from a day, today without one, put there past its use case: that one takes no day that is over. */
export async function aPriceList(
  s: Studio,
  more: Partial<Tariff> = {},
  { from = dayOf(s.clock.now()), until = null }: { from?: string; until?: string | null } = {},
): Promise<number> {
  const number = 1000 + ++serial;
  const [at, by] = [s.clock.now(), s.people.manager.id];
  await s.database.db.insert(tariffs).values({
    number,
    name: `List ${number}`,
    validFrom: from,
    validUntil: until,
    value: plainList(more),
    madeBy: by,
    madeAt: at,
    changedAt: at,
    inForceAt: at + serial,
    inForceBy: by,
  });
  return number;
}

/** All that waits for a firing, in a kiln, every level ticked; answers the load's number. */
export async function loadedWith(
  s: Studio,
  firing: Firing,
  kilnMore: Parameters<typeof aKiln>[1] = {},
): Promise<number> {
  const wren = s.people.technician;
  const kiln = await aKiln(s, { halfShelves: 0, ...kilnMore });
  const number = await aProposal(s, { kiln: kiln.code, firing });
  await approved(s, number);
  for (const { part, level } of (await pageOf(s, number)).levels)
    await s.as(wren, (act) => loadLevel(act, number, { part, level, why: 'The phone is flat' }));
  await s.as(wren, (act) => finishLoading(act, number));
  return number;
}
