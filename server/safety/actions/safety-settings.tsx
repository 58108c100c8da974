import { SafetySettingsPage } from '../../../views/safety/settings.tsx';
import type { Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { countStopped } from '../service/inductions.ts';
import { safetySettings, safetySettingsForm, saveSafetySettings } from '../service/settings.ts';

export async function showSafetySettings(visit: Visit, form?: FormState): Promise<Answer> {
  const [settings, stopped] = await Promise.all([safetySettings(visit.read), countStopped(visit.read)]);
  const { gated, ...rest } = settings;
  const shown: Typed = {
    ...Object.fromEntries(Object.entries(rest).map(([name, value]) => [name, String(value)])),
    gated,
  };
  return page(
    'Safety settings',
    'safety',
    <SafetySettingsPage
      form={form ?? emptyForm(shown)}
      stopped={stopped}
      isGated={gated.length > 0}
      saved={visit.query.done === 'saved'}
      newKey={randomSecret()}
    />,
  );
}

export const saveSettingsForm = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showSafetySettings(visit, form),
    async () => {
      const command = visit.form(safetySettingsForm);
      await visit.act((act) => saveSafetySettings(act, command));
      return go('/safety/settings?done=saved');
    },
  );
