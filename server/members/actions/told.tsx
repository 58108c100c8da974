import { ToldPage } from '../../../views/members/told.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { chooseOwn, ownChoices } from '../service/told.ts';
import { toldForm } from '../told-form.ts';

/** What reaches whoever asks, and how. */
export async function showTold(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { services, caller, query } = visit;
  return page(
    'What reaches you',
    'me',
    <ToldPage
      {...(await ownChoices(visit.read))}
      email={caller.email}
      sendsMail={services.config.mail !== null}
      saved={query.done === 'saved'}
      form={form}
      newKey={randomSecret()}
    />,
  );
}

export async function saveTold(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showTold(visit, form),
    async () => {
      const entry = visit.form(toldForm);
      await visit.act((act) => chooseOwn(act, entry));
      return go('/me/told?done=saved');
    },
  );
}
