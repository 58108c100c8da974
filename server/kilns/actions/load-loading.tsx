import { LoadingPage } from '../../../views/kilns/load-loading.tsx';
import { type Picture, pictureIn } from '../../core/files.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  finishForm,
  finishLoading,
  keepForLevel,
  levelForm,
  loadLevel,
  reopenForm,
  reopenLevel,
  showLoad,
} from '../service/index.ts';
import { loadNumber, loadReaderOf } from './load-reader.ts';

/** At the kiln: the next level from the floor. A load that is not to be filled now shows its own page instead. */
export async function showLoading(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const loaded = await showLoad(visit.read, loadNumber(visit));
  const { number, state } = loaded.load;
  if (state !== 'approved' && form.errors.length === 0) return go(`/kilns/loads/${number}`);
  return page(
    `Loading load ${number}`,
    'kilns',
    <LoadingPage page={loaded} form={form} reader={loadReaderOf(visit)} />,
  );
}

/** A photo whose form is refused for something else is kept: nobody takes a shelf off again for it. */
export function tickLevel(visit: Visit): Promise<Answer> {
  let picture: Picture | null = null;
  return visit.submit(
    async (form) => showLoading(visit, picture ? await withKept(visit, form, picture) : form),
    async () => {
      const number = loadNumber(visit);
      const upload = visit.upload('photo');
      picture = upload && (await pictureIn(upload, 'photo'));
      const command = visit.form(levelForm);
      await visit.act((act) => loadLevel(act, number, { ...command, picture }));
      return go(`/kilns/loads/${number}/load`);
    },
  );
}

async function withKept(visit: Visit, form: FormState, picture: Picture): Promise<FormState> {
  await visit.services.database.transaction((tx) => keepForLevel({ ...visit.read, tx }, picture));
  return { ...form, typed: { ...form.typed, kept: picture.sha256 } };
}

export const takeTickBack = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showLoading(visit, { ...form, typed: {} }),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(reopenForm);
      await visit.act((act) => reopenLevel(act, number, command));
      return go(`/kilns/loads/${number}/load`);
    },
  );

export const finishLoad = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showLoading(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(finishForm);
      await visit.act((act) => finishLoading(act, number, command));
      return go(`/kilns/loads/${number}?did=loaded`);
    },
  );
