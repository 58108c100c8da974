import { KilnSettingsPage } from '../../../views/kilns/kiln-settings.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { changeKilnSettings, kilnSettings, listKilns, settingsFingerprint } from '../service/index.ts';
import { readSettings, settingsAsTyped } from '../settings-form.ts';
import { kilnReader } from './kiln-reader.ts';

export async function showKilnSettings(visit: Visit, form?: FormState): Promise<Answer> {
  const [settings, kilns] = await Promise.all([
    kilnSettings(visit.read),
    listKilns(visit.read, { retired: true }),
  ]);
  const fresh = !form || form.errors.some(({ path }) => path === '');
  return page(
    'Kiln settings',
    'kilns',
    <KilnSettingsPage
      form={form ?? emptyForm(settingsAsTyped(settings))}
      seen={fresh ? settingsFingerprint(settings) : ([form.typed.seen].flat().at(-1) ?? '')}
      retired={kilns.filter(({ retiredAt }) => retiredAt !== null)}
      saved={visit.query.done === 'saved'}
      reader={kilnReader(visit)}
    />,
  );
}

export const saveKilnSettings = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showKilnSettings(visit, form),
    async () => {
      const command = readSettings(visit.typed, visit.formSetting);
      const seen = [visit.typed.seen].flat().at(-1) ?? '';
      await visit.act((act) => changeKilnSettings(act, command, seen));
      return go('/kilns/settings?done=saved');
    },
  );
