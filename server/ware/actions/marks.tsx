import { AllMarksPage, MarksPage } from '../../../views/ware/marks.tsx';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { addMark, listAllMarks, listOwnMarks, markForm, retireMark } from '../service/marks.ts';
import { withPicture } from './register.tsx';

export async function showMarks(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const marks = await listOwnMarks(visit.read);
  return page(
    'Your marks',
    'ware',
    <MarksPage
      marks={marks}
      form={form}
      maySeeAll={may(visit.caller.role, 'ware.see-all')}
      done={visit.done(DONE)}
      newKey={randomSecret()}
    />,
  );
}

const DONE: Record<string, string> = {
  added: 'Your mark is known now.',
  off: 'Taken off.',
};

export const saveMark = (visit: Visit): Promise<Answer> =>
  withPicture(
    visit,
    (form) => showMarks(visit, form),
    async (picture) => {
      const command = visit.form(markForm);
      await visit.act((act) => addMark(act, command, picture));
      return go('/ware/marks?done=added');
    },
  );

export async function takeMarkOff(visit: Visit): Promise<Answer> {
  const id = numberIn(visit, 'id', 'You have no such mark.');
  await visit.act((act) => retireMark(act, id));
  return go('/ware/marks?done=off');
}

export const showAllMarks = async (visit: Visit): Promise<Answer> =>
  page('Whose mark is it', 'ware', <AllMarksPage marks={await listAllMarks(visit.read)} />);

/** The address a mark is taken off at, opened by itself, leads to the marks. */
export const backToMarks = async (): Promise<Answer> => go('/ware/marks');
