import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type Cooling, type CoolingFit, coolingOf, fitCooling } from '../cooling.ts';
import type { Findings } from '../findings.ts';
import { conesOf, levelCones, offsByPlace, type Reading, readingsOf } from '../firing-record.ts';
import { shelvesOf } from '../load-fold.ts';
import * as store from '../store/firing.ts';
import * as logStore from '../store/logs.ts';
import { type Drifting, judge, trend } from '../witness.ts';
import { kilnSettings } from './settings.ts';

/** So many of a kiln's newest firings say how it cools and where it drifts. */
const FIRINGS_LOOKED_AT = 12;

/** How fast a kiln cools, by its newest logs and hand readings; a stated default until there are three. */
export async function kilnCooling(read: Read, kilnId: number): Promise<Cooling> {
  mustBeAllowed(read.actor, 'kilns.see');
  const loads = await store.emptiedLoads(read.tx, kilnId, FIRINGS_LOOKED_AT);
  const ids = loads.map(({ id }) => id);
  const found = new Map(
    (await logStore.findingsOf(read.tx, ids)).map(({ loadId, findings }) => [loadId, findings as Findings]),
  );
  const without = ids.filter((id) => !found.has(id));
  const [events, { lidShutAboveC }] = await Promise.all([
    store.eventsOfKinds(read.tx, without, READ_KINDS),
    kilnSettings(read),
  ]);
  const byHand = without.map((id) => {
    const points = handPoints(readingsOf(events.filter(({ loadId }) => loadId === id)));
    return fitCooling(points, undefined, lidShutAboveC);
  });
  const fits = [...[...found.values()].map(({ cooling }) => cooling), ...byHand];
  return coolingOf(fits.filter((fit): fit is CoolingFit => fit !== null));
}

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
  const loads = await store.emptiedLoads(read.tx, kilnId, FIRINGS_LOOKED_AT);
  const events = await store.eventsOfKinds(
    read.tx,
    loads.map(({ id }) => id),
    ['witness'],
  );
  const offs = loads.map(({ id, cone, plan }) => {
    const cones = conesOf(events.filter(({ loadId }) => loadId === id));
    return offsByPlace(judge(levelCones(cones), null, cone).levels, shelvesOf(plan));
  });
  return trend(offs.reverse());
}
