import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { sortedJson } from '../../core/json.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { secretHash } from '../../core/secrets.ts';
import { studioDay } from '../../core/session.ts';
import { type FeeSettings, USUAL_FEES } from '../settings.ts';
import { feeSettingsBody } from '../settings-form.ts';
import { lockBooks } from '../store/ledger.ts';
import * as store from '../store/settings.ts';
import { allTariffs } from '../store/tariffs.ts';
import { classesNamed } from '../tariff-form.ts';
import { timeline } from '../timeline.ts';

/** What the studio chose about its fees, and what is usual for whatever it did not. */
export async function feeSettings(read: Read): Promise<FeeSettings> {
  mustBeAllowed(read.actor, 'fees.own');
  const stored = Object(await store.findSettings(read.tx)) as Record<string, unknown>;
  const chosen = Object.entries(feeSettingsBody.shape).flatMap(([name, field]) => {
    const value = field.safeParse(stored[name]);
    return value.success ? [[name, value.data]] : [];
  });
  const settings: FeeSettings = { ...USUAL_FEES, ...Object.fromEntries(chosen) };
  return { ...settings, codes: { ...USUAL_FEES.codes, ...settings.codes } };
}

/** Changes when others do: a form that was opened before carries another one. */
export const feeFingerprint = (shown: unknown): string => secretHash(sortedJson(shown)).slice(0, 16);

/**
 * Changes what counts from now on. Nothing that was charged changes. `seen` is the fingerprint of the settings as the
 * form showed them.
 * @throws Conflict when somebody changed them since; Invalid for a class that is in use and would be gone
 */
export async function changeFeeSettings(
  act: Act,
  command: FeeSettings,
  seen: string | null = null,
): Promise<void> {
  mustBeAllowed(act.actor, 'fees.settings');
  // Nobody is put in a class, or changes the settings too, while this goes on.
  await lockBooks(act.tx);
  const before = await feeSettings(act);
  if (seen !== null && seen !== feeFingerprint(before))
    throw new Conflict(
      'Somebody changed these settings since you opened them. Yours are below; save again to put them in place.',
    );
  const faults = await classFaults(act, before.classes, command.classes);
  if (faults.length > 0) throw new Invalid(faults);
  await store.saveSettings(act.tx, command);
  const changed = Object.entries(await feeSettings(act)).flatMap(([name, value]) => {
    const [was, is] = [before[name as keyof FeeSettings], value].map(sortedJson);
    return was === is ? [] : [[name, `${was} → ${is}`]];
  });
  await record(act, 'fees.settings', 'fees', Object.fromEntries(changed));
}

/** Who still needs the classes that would be gone, or are in the first one without having been put there. */
async function classFaults(
  act: Act,
  before: readonly string[],
  after: readonly string[],
): Promise<{ path: string; message: string }[]> {
  const gone = before.filter((one) => !after.includes(one));
  if (gone.length === 0 && before[0] === after[0]) return [];
  const [used, rows, today] = await Promise.all([
    store.classesInUse(act.tx),
    allTariffs(act.tx),
    studioDay(act),
  ]);
  const inForce = rows.flatMap(({ row: { inForceAt, ...row } }) =>
    inForceAt === null ? [] : [{ ...row, inForceAt }],
  );
  // A list that a later one took the place of asks for nothing any more.
  const counting = new Set(
    timeline(inForce)
      .filter(({ until }) => until === null || until >= today)
      .map(({ list }) => list.number),
  );
  const fault = (message: string) => [{ path: 'classes', message }];
  if (before[0] !== after[0] && used.includes(null))
    return fault(`Whoever was put in no class is in ${before[0]}: it stays the first.`);
  return gone.flatMap((name) => {
    if (used.includes(name)) return fault(`Somebody's account is in the class ${name}: it stays.`);
    const list = rows.find(
      ({ row }) =>
        (row.inForceAt === null || counting.has(row.number)) && classesNamed(row.value).includes(name),
    );
    return list ? fault(`Price list ${list.row.number} names the class ${name}: it stays.`) : [];
  });
}
