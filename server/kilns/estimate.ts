import { HOUR } from '../core/clock.ts';
import type { FiringKind } from '../ware/firing.ts';
import { COOLING_UNTIL_KNOWN, type Cooling, forecast } from './cooling.ts';
import { costMinor, energyKwh, plannedKwh } from './energy.ts';
import { plan, type Segment } from './schedule.ts';
import type { KilnSettings } from './settings.ts';

/** What a firing is likely to take. It is said as an estimate wherever it stands. */
export interface Estimate {
  /** From the start to the end of the last step. */
  hours: number;
  /** From there until it may be opened, and until it may be emptied by hand; both by the pyrometer only. */
  openHours: { from: number; to: number };
  coolHours: { from: number; to: number };
  /** null for a kiln with burners, or one whose power is not known. */
  kWh: number | null;
  /** Minor units of the studio's currency; null without a price a kWh. */
  costMinor: number | null;
}

/**
 * How long a schedule takes in a kiln, how long that cools, and what it draws.
 * Energy is power × hours × share of the time that the elements are on: the kiln's own share over a whole firing if it
 * is known, else that of the kind of firing. Cooling starts at the end of the last step and takes the kiln's own range
 * from three logs on, until then a stated default.
 */
export function estimate(
  kiln: { power: 'electric' | 'gas'; kilowatts: number | null; duty: number | null },
  schedule: { kind: FiringKind; segments: Segment[] },
  settings: Pick<KilnSettings, 'openBelowC' | 'handsBelowC' | 'pricePerKwh'>,
  cooling: Cooling = COOLING_UNTIL_KNOWN,
): Estimate {
  const planned = plan(schedule.segments);
  const hours = planned.durationS / 3600;
  const endC = planned.points.at(-1)?.c ?? 0;
  const until = (toC: number) => {
    const cold = forecast(0, { c: endC, at: 0 }, toC, cooling);
    return cold ? { from: cold.from / HOUR, to: cold.to / HOUR } : { from: 0, to: 0 };
  };
  const kWh = energyOf(kiln, schedule.kind, planned, hours);
  const { pricePerKwh } = settings;
  return {
    hours,
    openHours: until(settings.openBelowC),
    coolHours: until(settings.handsBelowC),
    kWh,
    costMinor: kWh === null || pricePerKwh === null ? null : Number(costMinor(kWh, pricePerKwh.toFixed(6))),
  };
}

function energyOf(
  { power, kilowatts, duty }: Parameters<typeof estimate>[0],
  kind: FiringKind,
  planned: ReturnType<typeof plan>,
  hours: number,
): number | null {
  if (power !== 'electric' || kilowatts === null) return null;
  return duty === null ? plannedKwh(planned, kind, kilowatts) : energyKwh(kilowatts, [{ hours, duty }]);
}
