import { FloatPage } from '../../../views/buckets/float.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { readMarks, rowsFor, typedFrom } from '../float-form.ts';
import { calibrateFloat, findFloat } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showFloat(visit: Visit, form?: FormState): Promise<Answer> {
  const float = await findFloat(visit.read, visit.param('code'));
  const shown = form ?? emptyForm(typedFrom(float.calibration));
  return page(
    float.name,
    'wall',
    <FloatPage
      float={float}
      fresh={visit.query.calibrated !== undefined}
      form={shown}
      rows={rowsFor(shown.typed)}
      reader={readerOf(visit)}
    />,
  );
}

export const saveCalibration = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showFloat(visit, form),
    async () => {
      const code = visit.param('code');
      const points = readMarks(visit.typed, visit.formSetting);
      await visit.act((act) => calibrateFloat(act, code, { points }));
      return go(`/gear/floats/${encodeURIComponent(code)}?calibrated=yes`);
    },
  );
