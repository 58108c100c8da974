import { WareSettingsPage } from '../../../views/ware/settings.tsx';
import type { Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { changeWareSettings, wareSettings, wareSettingsForm } from '../service/settings.ts';

export async function showWareSettings(visit: Visit, form?: FormState): Promise<Answer> {
  const settings = Object.entries(await wareSettings(visit.read));
  const shown: Typed = Object.fromEntries(settings.map(([name, value]) => [name, String(value)]));
  return page(
    'How ware is handled',
    'ware',
    <WareSettingsPage
      form={form ?? emptyForm(shown)}
      saved={visit.query.done === 'saved'}
      newKey={randomSecret()}
    />,
  );
}

export const saveWareSettings = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showWareSettings(visit, form),
    async () => {
      const command = visit.form(wareSettingsForm);
      await visit.act((act) => changeWareSettings(act, command));
      return go('/ware/settings?done=saved');
    },
  );
