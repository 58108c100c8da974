import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { estimate } from '../estimate.ts';
import * as store from '../store/fired-loads.ts';
import { kilnsByIds } from './kilns.ts';
import { schedulesByIds } from './schedules.ts';
import { kilnSettings } from './settings.ts';

/** A load that was fired and emptied, as it costs. */
export interface FiredLoad {
  number: number;
  kilnId: number;
  kiln: { code: string; name: string };
  emptiedAt: Instant;
  /** As its schedule and kiln are expected to draw; null with burners, or where it is not known. */
  kWh: number | null;
  /** Bounding boxes of what was in it, as registered. */
  litres: number;
}

/** Loads that were emptied from one instant up to another, in their order. */
export async function firedLoads(read: Read, from: Instant, until: Instant): Promise<FiredLoad[]> {
  mustBeAllowed(read.actor, 'kilns.see');
  const rows = await store.emptiedBetween(read.tx, from, until);
  const ids = (of: (row: (typeof rows)[number]) => number | null) => [
    ...new Set(rows.map(of).filter((id) => id !== null)),
  ];
  const [kilns, schedules, settings] = await Promise.all([
    kilnsByIds(
      read,
      ids(({ kilnId }) => kilnId),
    ),
    schedulesByIds(
      read,
      ids(({ scheduleId }) => scheduleId),
    ),
    kilnSettings(read),
  ]);
  return rows.flatMap(({ number, kilnId, scheduleId, emptiedAt, mm3 }) => {
    const kiln = kilns.get(kilnId);
    const schedule = scheduleId === null ? undefined : schedules.get(scheduleId);
    if (!kiln || emptiedAt === null) return [];
    const { code, name } = kiln;
    const kWh = schedule ? estimate(kiln, schedule, settings).kWh : null;
    return [{ number, kilnId, kiln: { code, name }, emptiedAt, kWh, litres: mm3 / 1e6 }];
  });
}
