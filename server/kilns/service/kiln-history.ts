import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { COOLING_UNTIL_KNOWN, type Cooling, type CoolingFit, coolingOf, fitCooling } from '../cooling.ts';
import { conesOf, levelCones, offsByPlace, type Reading, readingsOf } from '../firing-record.ts';
import { shelvesOf } from '../load-fold.ts';
import * as store from '../store/firing.ts';
import * as logStore from '../store/logs.ts';
import { type Drifting, judge, trend } from '../witness.ts';
import { kilnSettings } from './settings.ts';

/** So many of a kiln's newest firings say how it cools and where it drifts. */
const FIRINGS_LOOKED_AT = 12;

/**
 * How fast each of these kilns cools, by its id: by its newest logs and hand readings, a stated default until there
 * are three.
 */
export async function kilnsCooling(read: Read, kilnIds: readonly number[]): Promise<Map<number, Cooling>> {
  mustBeAllowed(read.actor, 'kilns.see');
  const loads = await store.emptiedLoads(read.tx, kilnIds, FIRINGS_LOOKED_AT);
  const logs = await logStore.coolingFits(
    read.tx,
    loads.map(({ id }) => id),
  );
  const byLog = new Map(logs.map(({ loadId, fit }) => [loadId, fit as CoolingFit | null]));
  const [events, { lidShutAboveC }] = await Promise.all([
    store.eventsOfKinds(
      read.tx,
      loads.flatMap(({ id }) => (byLog.has(id) ? [] : [id])),
      READ_KINDS,
    ),
    kilnSettings(read),
  ]);
  const fitOf = (id: number): CoolingFit | null => {
    const logged = byLog.get(id);
    if (logged !== undefined) return logged;
    const points = handPoints(readingsOf(events.filter(({ loadId }) => loadId === id)));
    return fitCooling(points, undefined, lidShutAboveC);
  };
  return new Map(
    [...new Set(kilnIds)].map((kilnId) => {
      const own = loads.filter((load) => load.kilnId === kilnId);
      return [kilnId, coolingOf(own.flatMap(({ id }) => fitOf(id) ?? []))];
    }),
  );
}

/** How fast one kiln cools. */
export const kilnCooling = async (read: Read, kilnId: number): Promise<Cooling> =>
  (await kilnsCooling(read, [kilnId])).get(kilnId) ?? COOLING_UNTIL_KNOWN;

const READ_KINDS = ['reading', 'gas-reading', 'shut-off', 'opened'];

/** Typed readings as a curve, counted in seconds from `from`. */
export function handPoints(
  readings: readonly Reading[],
  from = readings[0]?.at ?? 0,
): { atS: number; c: number }[] {
  return readings.map(({ at, c }) => ({ atS: (at - from) / 1000, c }));
}

/** Levels of a kiln that have been off to the same side for some firings, in words, by their witness cones. */
export async function kilnTrend(read: Read, kilnId: number): Promise<Drifting[]> {
  mustBeAllowed(read.actor, 'kilns.see');
  const loads = await store.emptiedLoads(read.tx, [kilnId], FIRINGS_LOOKED_AT);
  const events = await store.eventsOfKinds(
    read.tx,
    loads.map(({ id }) => id),
    ['witness'],
  );
  const levels = await store.levelsOf(
    read.tx,
    events.map(({ loadId }) => loadId),
  );
  const offs = loads.map(({ id, cone }) => {
    const cones = conesOf(events.filter(({ loadId }) => loadId === id));
    return offsByPlace(
      judge(levelCones(cones), null, cone).levels,
      shelvesOf({ levels: levels.get(id) ?? [] }),
    );
  });
  return trend(offs.reverse());
}
