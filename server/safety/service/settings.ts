import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Invalid } from '../../core/errors.ts';
import { choice, count } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type SafetySettings, USUAL_SAFETY, VERBS } from '../settings.ts';
import * as store from '../store/settings.ts';

export const safetySettingsForm = z.strictObject({
  rules: choice(['un', 'eu-clp', 'us-hazcom']),
  leachRules: choice(['us-fda', 'eu-84-500', 'iso-6486-2']),
  gated: z.array(choice(VERBS)).max(VERBS.length).default([]),
  inductionMonths: count(1, 60),
  childAge: count(1, 25),
  sheetYears: count(1, 10),
});

/** What was stored, and the usual for whatever was not or is no longer taken. */
export function settingsIn(value: unknown): SafetySettings {
  const stored = Object(value) as Record<string, unknown>;
  const chosen = Object.entries(safetySettingsForm.shape).flatMap(([name, field]) => {
    const kept = stored[name] === undefined ? undefined : field.safeParse(stored[name]);
    return kept?.success ? [[name, kept.data]] : [];
  });
  return { ...USUAL_SAFETY, ...Object.fromEntries(chosen) };
}

/** What the studio chose about safety. */
export async function safetySettings(read: Read): Promise<SafetySettings> {
  mustBeAllowed(read.actor, 'safety.see');
  return settingsIn(await store.findSettings(read.tx));
}

/** Changes what everybody here is asked for from now on; the verbs are kept in their usual order, each once. */
export async function saveSafetySettings(
  act: Act,
  command: z.output<typeof safetySettingsForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'safety.settings');
  if (command.gated.every((verb) => verb === 'common') && command.gated.length > 0)
    throw new Invalid([
      { path: 'gated', message: 'The common rules stand beneath something else: tick what asks for them.' },
    ]);
  const before = await safetySettings(act);
  const after = { ...command, gated: VERBS.filter((verb) => command.gated.includes(verb)) };
  await store.saveSettings(act.tx, after);
  const changed = Object.entries(after).flatMap(([name, value]) => {
    const was = String(before[name as keyof SafetySettings]);
    return was === String(value) ? [] : [[name, `${was || 'none'} → ${String(value) || 'none'}`]];
  });
  await record(act, 'safety.settings', 'safety', Object.fromEntries(changed));
}
