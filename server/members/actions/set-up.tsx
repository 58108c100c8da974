import { SetUpPage } from '../../../views/members/set-up.tsx';
import { NotFound } from '../../core/errors.ts';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { NOBODY_YET, setUpForm } from '../forms.ts';
import { setUpStudio } from '../service/studio.ts';
import { enter } from '../visit.ts';

export async function showSetUp(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  if (visit.request.studio) throw new NotFound('This studio is set up already.');
  return page('Set up your studio', null, <SetUpPage form={form} />);
}

export async function setUp(visit: Visit): Promise<Answer> {
  if (visit.request.studio) throw new NotFound('This studio is set up already.');
  return visit.submit(
    (form) => showSetUp(visit, form),
    async () => {
      const entry = readForm(setUpForm, visit.typed, NOBODY_YET);
      return go('/', await enter(visit, await setUpStudio(visit.services, entry, visit.now)));
    },
  );
}
