import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { type FieldError, Invalid } from '../../core/errors.ts';
import { count, quantity } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { WARE_DEFAULTS, type WareSettings } from '../settings.ts';
import * as store from '../store/settings.ts';
import { writtenCone } from './clays.ts';

/** Dry thickness of a coat. */
export const writtenCoat = () => quantity(0.05, 5, 'mm');
/** Bulk density of a dry coat, g/cm³. */
export const writtenCoatDensity = () => quantity(0.5, 3);

export const wareSettingsForm = z.strictObject({
  thickAboveMm: quantity(3, 100, 'mm'),
  thickWaitDays: count(0, 90),
  heldBackMm: quantity(0, 50, 'mm'),
  heldBackRunnyMm: quantity(0, 80, 'mm'),
  uncollectedDays: count(1, 365),
  bisqueCone: writtenCone(),
  usualCoatLowMm: writtenCoat(),
  usualCoatHighMm: writtenCoat(),
  mostCoatMm: quantity(0.1, 10, 'mm'),
  dryCoatDensity: writtenCoatDensity(),
  dryBackHours: quantity(1, 240, 'h'),
  waterGonePercent: quantity(50, 99),
});

/** What the studio chose, and the defaults for whatever it did not or is no longer taken. */
export async function wareSettings(read: Read): Promise<WareSettings> {
  mustBeAllowed(read.actor, 'ware.own');
  const stored = Object(await store.findSettings(read.tx)) as Record<string, unknown>;
  const chosen = Object.entries(wareSettingsForm.shape).flatMap(([name, field]) => {
    const value = field.safeParse(stored[name]);
    return value.success ? [[name, value.data]] : [];
  });
  return { ...WARE_DEFAULTS, ...Object.fromEntries(chosen) };
}

/** Changes what every piece is judged by from now on. Throws Invalid where limits contradict each other. */
export async function changeWareSettings(
  act: Act,
  command: z.output<typeof wareSettingsForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const wrong = contradictions(command);
  if (wrong.length > 0) throw new Invalid(wrong);
  const before = await wareSettings(act);
  await store.saveSettings(act.tx, command);
  const changed = Object.entries(command).flatMap(([name, value]) => {
    const was = before[name as keyof WareSettings];
    return was === value ? [] : [[name, `${was} → ${value}`]];
  });
  await record(act, 'ware.settings', 'ware', Object.fromEntries(changed));
}

function contradictions(command: z.output<typeof wareSettingsForm>): FieldError[] {
  const { heldBackMm, heldBackRunnyMm, usualCoatLowMm, usualCoatHighMm, mostCoatMm } = command;
  const checks: [isWrong: boolean, path: string, message: string][] = [
    [
      heldBackRunnyMm < heldBackMm,
      'heldBackRunnyMm',
      'A runny glaze is held back at least as far as any other.',
    ],
    [usualCoatLowMm >= usualCoatHighMm, 'usualCoatHighMm', 'More than where a usual coat begins.'],
    [mostCoatMm < usualCoatHighMm, 'mostCoatMm', 'At least as much as one usual coat.'],
  ];
  return checks.flatMap(([isWrong, path, message]) => (isWrong ? [{ path, message }] : []));
}
