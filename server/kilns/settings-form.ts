import { z } from 'zod';
import { type FieldError, Invalid } from '../core/errors.ts';
import { type FormSetting, quantity, readForm, type Typed, text } from '../core/forms.ts';
import { clockText } from './calendar.ts';
import { kilnSettingsBody, settingsFaults } from './service/index.ts';
import type { Hours, KilnSettings } from './settings.ts';
import { figureText, gather, isBlank } from './typed-rows.ts';

const MIDNIGHT = 24 * 60;

const {
  proposeAtShare: _share,
  staffed: _staffed,
  siteKilowatts,
  pricePerKwh,
  ...plain
} = kilnSettingsBody.shape;
const flatForm = z.object({
  ...plain,
  proposePercent: quantity(10, 100),
  siteKilowatts: siteKilowatts.optional(),
  pricePerKwh: pricePerKwh.optional(),
});

const time = () => text(5).regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'A time such as 09:30.');

/** The form as settings. @throws Invalid with every fault at once, each beside its field */
export function readSettings(typed: Typed, setting: FormSetting): KilnSettings {
  const errors: FieldError[] = [];
  const flat = gather(errors, () => readForm(flatForm, typed, setting), null);
  const staffed = Array.from({ length: 7 }, (_, day) =>
    gather(errors, () => hoursOf(typed, day + 1, setting), null),
  );
  if (!flat || errors.length > 0) throw new Invalid(errors);
  const { proposePercent, ...rest } = flat;
  const settings: KilnSettings = {
    ...rest,
    proposeAtShare: proposePercent / 100,
    siteKilowatts: rest.siteKilowatts ?? null,
    pricePerKwh: rest.pricePerKwh ?? null,
    staffed,
  };
  const faults = settingsFaults(settings).map(({ path, message }) => {
    const [list, at] = path.split('.');
    return { path: list === 'staffed' ? `until${Number(at) + 1}` : path, message };
  });
  if (faults.length > 0) throw new Invalid(faults);
  return settings;
}

/** A day's hours; null where neither end is given. An end at 00:00 is midnight after that day. */
function hoursOf(typed: Typed, day: number, setting: FormSetting): Hours | null {
  const [fromField, toField] = [`from${day}`, `until${day}`];
  if (isBlank(typed[fromField]) && isBlank(typed[toField])) return null;
  const read = readForm(z.object({ [fromField]: time(), [toField]: time() }), typed, setting);
  const [from, to] = [minutesOf(read[fromField] ?? ''), minutesOf(read[toField] ?? '')];
  return { from, to: to === 0 ? MIDNIGHT : to };
}

function minutesOf(time: string): number {
  const [hours, minutes] = time.split(':').map(Number);
  return 60 * (hours ?? 0) + (minutes ?? 0);
}

/** Midnight after a day is typed as 00:00. */
const timeOf = (minutes: number): string => clockText(minutes % MIDNIGHT);

/** Settings as their form shows them. */
export function settingsAsTyped({ staffed, proposeAtShare, scheduleWord, ...figures }: KilnSettings): Typed {
  const typed: Typed = { scheduleWord, proposePercent: figureText(proposeAtShare * 100) };
  for (const [name, value] of Object.entries(figures)) typed[name] = figureText(value);
  staffed.forEach((day, i) => {
    typed[`from${i + 1}`] = day ? timeOf(day.from) : '';
    typed[`until${i + 1}`] = day ? timeOf(day.to) : '';
  });
  return typed;
}
