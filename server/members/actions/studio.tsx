import { StudioPage } from '../../../views/members/studio.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { studioForm } from '../forms.ts';
import { changeStudio, isFactorAskedOfStaff } from '../service/studio.ts';

export async function showStudio(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { studio, query, read } = visit;
  const staffSecondFactor = await isFactorAskedOfStaff(read);
  const saved = query.done === 'saved';
  return page(
    'The studio',
    'people',
    <StudioPage {...{ studio, staffSecondFactor, form, saved }} newKey={randomSecret()} />,
  );
}

export async function saveStudio(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showStudio(visit, form),
    async () => {
      const entry = visit.form(studioForm);
      await visit.act((act) => changeStudio(act, entry));
      return go('/studio?done=saved');
    },
  );
}
