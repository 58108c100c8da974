import { COOLING_DEFAULTS, type CoolingSettings } from './cooling.ts';

/** Minutes after midnight, studio time. */
export interface Hours {
  from: number;
  to: number;
}

/** What a studio chooses about its kilns; the defaults are common practice, no source. */
export interface KilnSettings extends CoolingSettings {
  /** Air between pieces of a glaze load, measured by a technician or not, and of a bisque load. */
  gapMeasuredMm: number;
  gapMm: number;
  gapBisqueMm: number;
  /** A load is proposed at this share of what the kiln usually takes. */
  proposeAtShare: number;
  /** … or when a piece has waited so long. */
  longestWaitDays: number;
  longestWaitBisqueDays: number;
  /** Hours when somebody is there, Monday first; null: nobody. */
  staffed: (Hours | null)[];
  /** Most kW at once; null: not limited. */
  siteKilowatts: number | null;
  /** Minor units of the studio's currency a kWh, such as 28.5. */
  pricePerKwh: number | null;
  /** What a firing's ramps and holds are called here. */
  scheduleWord: 'schedule' | 'programme';
}

const DAYTIME: Hours = { from: 9 * 60, to: 21 * 60 };

export const KILN_DEFAULTS: KilnSettings = {
  gapMeasuredMm: 6,
  gapMm: 10,
  gapBisqueMm: 0,
  proposeAtShare: 0.85,
  longestWaitDays: 14,
  longestWaitBisqueDays: 10,
  ...COOLING_DEFAULTS,
  staffed: [DAYTIME, DAYTIME, DAYTIME, DAYTIME, DAYTIME, DAYTIME, DAYTIME],
  siteKilowatts: null,
  pricePerKwh: null,
  scheduleWord: 'schedule',
};
