import { z } from 'zod';
import { CareFormPage, VoidCarePage } from '../../../views/kilns/care.tsx';
import { text } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  CARE_KINDS,
  careBody,
  findCare,
  findKiln,
  kilnSettings,
  MOST_ELEMENTS,
  newestOhms,
  noteCare,
  voidCare,
} from '../service/index.ts';
import { kilnReader } from './kiln-reader.ts';

/** Fields for the ohms of a kiln that was never measured. */
const ELEMENTS = 6;

export async function showCare(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const kiln = await findKiln(visit.read, visit.param('code'));
  const [ohms, settings] = await Promise.all([newestOhms(visit.read, kiln.id), kilnSettings(visit.read)]);
  const asked = [form.typed.kind ?? visit.query.kind].flat().at(-1);
  return page(
    `Care of ${kiln.name}`,
    'kilns',
    <CareFormPage
      kiln={kiln}
      kind={CARE_KINDS.find((kind) => kind === asked) ?? null}
      form={form}
      elements={Math.min(MOST_ELEMENTS, Math.max(ohms[0]?.payload.ohms?.length ?? 0, ELEMENTS) + 1)}
      handsBelowC={settings.handsBelowC}
      reader={kilnReader(visit)}
    />,
  );
}

export const saveCare = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showCare(visit, form),
    async () => {
      const command = visit.form(careBody);
      await visit.act((act) => noteCare(act, visit.param('code'), command));
      return go(`/kilns/${visit.param('code')}?done=noted`);
    },
  );

const voidForm = z.object({ reason: text(500) });

const entryNumber = (visit: Visit): number =>
  numberIn(visit, 'number', 'There is no entry with this number.');

export async function showVoidCare(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const code = visit.param('code');
  const number = entryNumber(visit);
  const [kiln, entry] = await Promise.all([findKiln(visit.read, code), findCare(visit.read, code, number)]);
  return page(
    'Strike out',
    'kilns',
    <VoidCarePage kiln={kiln} entry={entry} form={form} reader={kilnReader(visit)} />,
  );
}

export const strikeOutCare = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showVoidCare(visit, form),
    async () => {
      const code = visit.param('code');
      const { reason } = visit.form(voidForm);
      await visit.act((act) => voidCare(act, code, entryNumber(visit), reason));
      return go(`/kilns/${code}?done=struck-out`);
    },
  );
