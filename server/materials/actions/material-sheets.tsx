import { MaterialSheetsPage } from '../../../views/materials/material-sheets.tsx';
import { type Document, documentIn } from '../../core/files.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { addSheet, findMaterial, keepSheet, sheetForm, yearsOfSheets } from '../service/index.ts';
import { materialId } from './material.tsx';

const DONE: Record<string, string> = {
  sheet: 'The sheet is kept. Read section 2 and write what it says of hazards.',
  reviewed: 'Noted: the sheet holds.',
  'newer-exists': 'Noted: a newer sheet is asked for until it is here.',
};

export async function showSheets(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [found, years] = await Promise.all([
    findMaterial(visit.read, materialId(visit)),
    yearsOfSheets(visit.read),
  ]);
  const { kind } = form.typed;
  const isOfLater = (kind === 'reviewed' || kind === 'newer-exists') && found.material.sheet.sheet !== null;
  return page(
    `Sheets of ${found.material.name}`,
    'safety',
    <MaterialSheetsPage
      found={found}
      form={form}
      kind={isOfLater ? kind : 'sheet'}
      years={years}
      mayEdit={may(visit.caller.role, 'materials.edit')}
      done={visit.done(DONE)}
      now={visit.now}
      timeZone={visit.studio.timeZone}
      newKey={randomSecret()}
    />,
  );
}

/** A PDF whose form is refused for something else is kept: a browser never sends it back by itself. */
export function recordSheet(visit: Visit): Promise<Answer> {
  let document: Document | null = null;
  return visit.submit(
    async (form) => showSheets(visit, document ? await withKept(visit, form, document) : form),
    async () => {
      const id = materialId(visit);
      const upload = visit.upload('sheet');
      document = upload && documentIn(upload, 'sheet');
      const { sheet: _, ...typed } = visit.typed;
      const command = visit.form(sheetForm, typed);
      await visit.act((act) => addSheet(act, id, command, document));
      return go(`/materials/${id}/sheets?done=${command.kind}`);
    },
  );
}

async function withKept(visit: Visit, form: FormState, document: Document): Promise<FormState> {
  const kept = await visit.services.database.transaction((tx) => keepSheet({ ...visit.read, tx }, document));
  return kept ? { ...form, typed: { ...form.typed, kept: document.sha256 } } : form;
}
