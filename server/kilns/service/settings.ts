import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { choice, count, quantity } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { secretHash } from '../../core/secrets.ts';
import { coolingFaults } from '../cooling.ts';
import { KILN_DEFAULTS, type KilnSettings } from '../settings.ts';
import * as store from '../store/settings.ts';

const MIDNIGHT = 24 * 60;

const hours = z.strictObject({ from: count(0, MIDNIGHT), to: count(0, MIDNIGHT) });

/** All that a studio chooses about its kilns. */
export const kilnSettingsBody = z.strictObject({
  gapMeasuredMm: quantity(0, 50, 'mm'),
  gapMm: quantity(0, 50, 'mm'),
  gapBisqueMm: quantity(0, 50, 'mm'),
  proposeAtShare: quantity(0.1, 1),
  longestWaitDays: count(1, 120),
  longestWaitBisqueDays: count(1, 120),
  lidShutAboveC: quantity(40, 300, '°C'),
  openBelowC: quantity(40, 300, '°C'),
  handsBelowC: quantity(30, 150, '°C'),
  staffed: z.array(hours.nullable()).length(7, 'One entry for each day, Monday first.'),
  siteKilowatts: quantity(0.1, 10_000).nullable(),
  pricePerKwh: quantity(0, 1_000_000).nullable(),
  scheduleWord: choice(['schedule', 'programme']),
});

/** What the studio chose, and the defaults for whatever it did not or is no longer taken. */
export async function kilnSettings(read: Read): Promise<KilnSettings> {
  mustBeAllowed(read.actor, 'kilns.see');
  const stored = Object(await store.findSettings(read.tx)) as Record<string, unknown>;
  const chosen = Object.entries(kilnSettingsBody.shape).flatMap(([name, field]) => {
    const value = field.safeParse(stored[name]);
    return value.success ? [[name, value.data]] : [];
  });
  return { ...KILN_DEFAULTS, ...Object.fromEntries(chosen) };
}

/** Changes when others do: a form that was opened before carries another one. */
export const settingsFingerprint = (settings: KilnSettings): string =>
  secretHash(JSON.stringify(Object.entries(settings).sort(([a], [b]) => (a < b ? -1 : 1)))).slice(0, 16);

/**
 * Changes what kilns and loads are judged by from now on. `seen` is the fingerprint of the settings as the form showed
 * them.
 * @throws Conflict when somebody changed them since
 */
export async function changeKilnSettings(
  act: Act,
  command: KilnSettings,
  seen: string | null = null,
): Promise<void> {
  mustBeAllowed(act.actor, 'kilns.edit');
  const faults = settingsFaults(command);
  if (faults.length > 0) throw new Invalid(faults);
  const before = await kilnSettings(act);
  if (seen !== null && seen !== settingsFingerprint(before))
    throw new Conflict(
      'Somebody changed these settings since you opened them. Yours are below; save again to put them in place.',
    );
  await store.saveSettings(act.tx, command);
  const changed = Object.entries(command).flatMap(([name, value]) => {
    const was = JSON.stringify(before[name as keyof KilnSettings]);
    return was === JSON.stringify(value) ? [] : [[name, `${was} → ${JSON.stringify(value)}`]];
  });
  await record(act, 'kilns.settings', 'kilns', Object.fromEntries(changed));
}

/** What in the settings does not go together, each beside its field. */
export function settingsFaults(settings: KilnSettings): { path: string; message: string }[] {
  const faults = coolingFaults(settings);
  if (settings.gapMm < settings.gapMeasuredMm)
    faults.push({
      path: 'gapMm',
      message: 'What nobody measured wants at least as much air as what a technician did.',
    });
  settings.staffed.forEach((day, i) => {
    if (day && day.from >= day.to)
      faults.push({ path: `staffed.${i}.to`, message: 'The day ends after it begins.' });
  });
  return faults;
}
