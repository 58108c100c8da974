import { KilnFormPage } from '../../../views/kilns/kiln-form.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { kilnRows, newKiln, readKiln, typedFrom } from '../kiln-form.ts';
import {
  columnsOf,
  createKiln,
  editKiln,
  type KilnToEdit,
  kilnToEdit,
  possibleFirers,
} from '../service/index.ts';
import { wantsMoreRows } from '../typed-rows.ts';
import { kilnReader } from './kiln-reader.ts';

/** What was typed as the kiln it would become; the drawing is made of it. */
type Drawn = ReturnType<typeof columnsOf>;

async function show(
  visit: Visit,
  edited: KilnToEdit | null,
  form: FormState,
  drawn: Drawn | null,
): Promise<Answer> {
  const people = await possibleFirers(visit.read);
  return page(
    edited ? `Edit ${edited.kiln.name}` : 'New kiln',
    'kilns',
    <KilnFormPage
      kiln={edited?.kiln ?? null}
      seen={edited ? seenIn(form, edited) : undefined}
      form={form}
      rows={kilnRows(form.typed)}
      people={people}
      drawn={drawn}
      reader={kilnReader(visit)}
    />,
  );
}

/** The kiln as this form saw it; once told that somebody changed it, its person has seen how it is now. */
const seenIn = ({ typed, errors }: FormState, { seen }: KilnToEdit): string =>
  errors.some(({ path }) => path === '') ? seen : ([typed.seen].flat().at(-1) ?? seen);

export const showNewKiln = (visit: Visit, form?: FormState, drawn: Drawn | null = null): Promise<Answer> =>
  show(visit, null, form ?? emptyForm(newKiln(visit.caller.email)), drawn);

export async function showEditKiln(visit: Visit, form?: FormState, drawn?: Drawn): Promise<Answer> {
  const edited = await kilnToEdit(visit.read, visit.param('code'));
  const shown = form ?? emptyForm(typedFrom(edited));
  return show(visit, edited, shown, drawn ?? (form ? null : edited.kiln));
}

/** The form again with more rows, or with the drawing of what is typed; null when it is to be saved. */
async function withoutSaving(
  visit: Visit,
  again: (form: FormState, drawn?: Drawn) => Promise<Answer>,
): Promise<Answer | null> {
  const { typed } = visit;
  if (wantsMoreRows(typed)) return again(emptyForm(typed));
  if (typed.draw === undefined) return null;
  return visit.submit(
    (form) => again(form),
    () => again(emptyForm(typed), columnsOf(readKiln(typed, visit.formSetting))),
  );
}

export async function makeKiln(visit: Visit): Promise<Answer> {
  const again = (form: FormState, drawn?: Drawn) => showNewKiln(visit, form, drawn);
  const shown = await withoutSaving(visit, again);
  if (shown) return shown;
  return visit.submit(again, async () => {
    const command = readKiln(visit.typed, visit.formSetting);
    const code = await visit.act(async (act) => (await createKiln(act, command)).code);
    return go(`/kilns/${code}?done=made`);
  });
}

export async function saveKiln(visit: Visit): Promise<Answer> {
  const again = (form: FormState, drawn?: Drawn) => showEditKiln(visit, form, drawn);
  const shown = await withoutSaving(visit, again);
  if (shown) return shown;
  return visit.submit(again, async () => {
    const command = readKiln(visit.typed, visit.formSetting);
    const seen = [visit.typed.seen].flat().at(-1) ?? '';
    const code = await visit.act((act) => editKiln(act, visit.param('code'), command, seen));
    return go(`/kilns/${code}?done=saved`);
  });
}
