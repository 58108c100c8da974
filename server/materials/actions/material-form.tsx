import { MaterialFormPage } from '../../../views/materials/material-form.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { readMaterial, rowsFor, typedFrom, wantsMoreRows } from '../facts-form.ts';
import { findMaterial, saveMaterial } from '../service/index.ts';
import { materialId } from './material.tsx';

export async function showNewMaterial(_visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  return page(
    'New material',
    'safety',
    <MaterialFormPage material={null} form={form} rows={rowsFor(form.typed)} newKey={randomSecret()} />,
  );
}

export async function writeNewMaterial(visit: Visit): Promise<Answer> {
  const { typed, formSetting } = visit;
  if (wantsMoreRows(typed)) return showNewMaterial(visit, emptyForm(typed));
  return visit.submit(
    (form) => showNewMaterial(visit, form),
    async () => {
      const command = readMaterial(typed, formSetting);
      const { id } = await visit.act((act) => saveMaterial(act, null, command));
      return go(`/materials/${id}?done=saved`);
    },
  );
}

export async function showMaterialEdit(visit: Visit, form?: FormState): Promise<Answer> {
  const { material } = await findMaterial(visit.read, materialId(visit));
  const shown = form ?? emptyForm(typedFrom(material));
  return page(
    `Edit ${material.name}`,
    'safety',
    <MaterialFormPage material={material} form={shown} rows={rowsFor(shown.typed)} newKey={randomSecret()} />,
  );
}

export async function writeMaterial(visit: Visit): Promise<Answer> {
  const { typed, formSetting } = visit;
  if (wantsMoreRows(typed)) return showMaterialEdit(visit, emptyForm(typed));
  return visit.submit(
    (form) => showMaterialEdit(visit, isOvertaken(form) ? onNewest(form) : form),
    async () => {
      const id = materialId(visit);
      const command = readMaterial(typed, formSetting);
      const basedOn = Number(typed.basedOn);
      await visit.act((act) =>
        saveMaterial(act, id, command, Number.isSafeInteger(basedOn) ? basedOn : undefined),
      );
      return go(`/materials/${id}?done=saved`);
    },
  );
}

/** Refused because of what somebody else wrote. */
const isOvertaken = ({ errors }: FormState): boolean => errors.some(({ path }) => path === 'basedOn');

/** The same, from now on written from the newest version; the fault is of the form as a whole. */
const onNewest = (form: FormState): FormState => ({
  ...form,
  typed: { ...form.typed, basedOn: undefined },
  errors: form.errors.map((error) => ({ ...error, path: '' })),
});
