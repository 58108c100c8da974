import type { Act } from '../../server/core/actor.ts';
import { type KilnNow, listSchedules, writeUsualSchedules } from '../../server/kilns/service/index.ts';
import { append } from '../../server/kilns/service/load-ledger.ts';
import { insertLoad } from '../../server/kilns/store/load-ledger.ts';
import type { Firing } from '../../server/ware/firing.ts';
import { BISQUE, readAs } from './loads.ts';
import type { Studio } from './studio.ts';

/** The usual schedules of a studio that has none; answers the ids by name. */
export async function usualSchedules(s: Studio): Promise<Map<string, number>> {
  const wren = s.people.technician;
  await s.as(wren, (act) => writeUsualSchedules(act));
  return new Map((await listSchedules(readAs(s, wren))).map(({ name, id }) => [name, id]));
}

/** A proposed load with nothing in it: all that the calendar cares for is its kiln and its schedule. */
export async function aBareLoad(
  s: Studio,
  kiln: Pick<KilnNow, 'id'>,
  scheduleId: number | null,
  firing: Firing = BISQUE,
): Promise<number> {
  const make = async (act: Act) => {
    const load = await insertLoad(act.tx, {
      kilnId: kiln.id,
      state: 'proposed',
      ...firing,
      scheduleId,
      problem: {
        shelf: { shape: 'round', diameterMm: 500 },
        usableHeightMm: 500,
        shelfThicknessMm: 16,
        pieceGapMm: 0,
        clearanceMm: 12,
        topClearanceMm: 40,
        posts: [],
        pieces: [],
      },
      plan: { levels: [], use: { area: 0, volume: 0 } },
      bound: { loads: 0, value: 0, gap: 0 },
      wishes: { pins: {}, leftOut: [] },
      proposedAt: act.now,
      onCall: '',
    });
    await append(act, load, { kind: 'proposed', state: 'proposed', payload: { placed: [], removed: [] } });
    return load.number;
  };
  return s.as(s.people.technician, make);
}
