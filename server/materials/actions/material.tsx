import { MaterialPageView } from '../../../views/materials/material.tsx';
import { NotFound } from '../../core/errors.ts';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { findMaterial, retireMaterial } from '../service/index.ts';

export const materialId = (visit: Visit): number => numberIn(visit, 'id', 'There is no such material.');

const DONE: Record<string, string> = {
  saved: 'Saved. Mixtures are classified by this from now on.',
  retired: 'Retired: it is out of the list.',
  returned: 'It is in the list again.',
};

export async function showMaterial(visit: Visit): Promise<Answer> {
  const { version } = visit.query;
  if (version !== undefined && !/^[1-9]\d{0,8}$/.test(String(version)))
    throw new NotFound('There is no such version of this material.');
  const found = await findMaterial(
    visit.read,
    materialId(visit),
    version === undefined ? undefined : Number(version),
  );
  return page(
    found.material.name,
    'safety',
    <MaterialPageView
      found={found}
      mayEdit={may(visit.caller.role, 'materials.edit')}
      done={visit.done(DONE)}
      now={visit.now}
      timeZone={visit.studio.timeZone}
      newKey={randomSecret()}
    />,
  );
}

export async function retire(visit: Visit): Promise<Answer> {
  const id = materialId(visit);
  const isRetired = visit.typed.retired !== 'no';
  await visit.act((act) => retireMaterial(act, id, isRetired));
  return go(`/materials/${id}?done=${isRetired ? 'retired' : 'returned'}`);
}

/** The address that it is retired at, opened by itself, leads to the material. */
export const backToMaterial = async (visit: Visit): Promise<Answer> => go(`/materials/${materialId(visit)}`);
