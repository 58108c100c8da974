import { AllMarksPage, MarksPage } from '../../../views/ware/marks.tsx';
import { type Picture, pictureIn } from '../../core/files.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { addMark, keepForMark, listAllMarks, listOwnMarks, markForm, retireMark } from '../service/marks.ts';
import { numberIn } from './param.ts';

export async function showMarks(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const marks = await listOwnMarks(visit.read);
  return page(
    'Your marks',
    'ware',
    <MarksPage
      marks={marks}
      form={form}
      maySeeAll={may(visit.caller.role, 'ware.see-all')}
      done={DONE[String(visit.query.done)] ?? null}
      newKey={randomSecret()}
    />,
  );
}

const DONE: Record<string, string> = {
  added: 'Your mark is known now.',
  off: 'Taken off.',
};

/** A photo whose form is refused for something else is kept, so that nobody takes it twice. */
export function saveMark(visit: Visit): Promise<Answer> {
  let picture: Picture | null = null;
  return visit.submit(
    async (form) => {
      const kept = picture;
      if (!kept) return showMarks(visit, form);
      await visit.services.database.transaction((tx) => keepForMark({ ...visit.read, tx }, kept));
      return showMarks(visit, { ...form, typed: { ...form.typed, kept: kept.sha256 } });
    },
    async () => {
      const upload = visit.upload('photo');
      picture = upload && (await pictureIn(upload, 'photo'));
      const command = visit.form(markForm);
      await visit.act((act) => addMark(act, command, picture));
      return go('/ware/marks?done=added');
    },
  );
}

export async function takeMarkOff(visit: Visit): Promise<Answer> {
  const id = numberIn(visit, 'id', 'You have no such mark.');
  await visit.act((act) => retireMark(act, id));
  return go('/ware/marks?done=off');
}

export const showAllMarks = async (visit: Visit): Promise<Answer> =>
  page('Whose mark is it', 'ware', <AllMarksPage marks={await listAllMarks(visit.read)} />);

/** The address a mark is taken off at, opened by itself, leads to the marks. */
export const backToMarks = async (): Promise<Answer> => go('/ware/marks');
